"""A job whose runs another tester makes, heard on a link that only listens."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import msgspec
import pytest
from tests.job.bus import ListeningLink
from tests.job.stand import Stand
from tests.talk.ends import MemoryMessageLink

from witnessmark.errors import LinkError, LocalError
from witnessmark.job.heard.listening import listen, require_silent
from witnessmark.job.runner import SCREEN_LOST
from witnessmark.job.screens.elsewhere_view import elsewhere_view, unheard_view
from witnessmark.job.walk.state import MISSED
from witnessmark.journal import bodies
from witnessmark.link.frame import Event
from witnessmark.link.guard import BROKEN
from witnessmark.link.port import Capabilities, FrameLink

START, STOP, STARTED, STOPPED = "3101030108", "31020301", "71010301", "71020301"


def heard_stand() -> Stand:
    bus = ListeningLink()
    made = Stand(grade="heard", bus=bus)
    bus.clock = made.clock
    return made


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = heard_stand()
    yield made
    made.close()


def bus_of(stand: Stand) -> ListeningLink:
    assert isinstance(stand.bus, ListeningLink)
    return stand.bus


def begin(stand: Stand, start: str = START, answer: str = STARTED) -> None:
    bus_of(stand).ask(start)
    stand.wait(0.05)
    bus_of(stand).answer(answer)
    stand.wait(0.05)


def end(stand: Stand, stop: str = STOP, answer: str = STOPPED) -> None:
    bus_of(stand).ask(stop)
    stand.wait(0.05)
    bus_of(stand).answer(answer)
    stand.turn(6)


def ran(stand: Stand, seconds: float = 8) -> None:
    begin(stand)
    stand.wait(seconds - 0.1)
    end(stand)


def test_the_view_asks_for_the_run_and_says_where_it_is_stopped(stand: Stand) -> None:
    stand.go_to("hear")
    assert "send nothing" in stand.view["text"] and "Stop it on the other tester." in stand.view["text"]
    assert not stand.view.get("buttons")


def test_a_run_of_another_tester_is_timed_from_the_wire_and_tied_to_its_pass(stand: Stand) -> None:
    stand.go_to("hear")
    begin(stand)
    stand.until(lambda: stand.view["kind"] == "heard")
    assert "to stop it before: on the other tester" in stand.view["text"]
    stand.wait(7.95)
    end(stand)
    (intent,), (outcome,) = stand.bodies("intent"), stand.bodies("outcome")
    assert (intent.grade, intent.pass_id, intent.wire_command, intent.seconds) == ("heard", "p1", "pump", "8")
    assert (outcome.result, outcome.stop) == ("completed", "confirmed")
    assert abs(int(outcome.duration_ns) / 1e9 - 8.05) < 0.02
    assert stand.view["kind"] == "close" and stand.unit.heard == [] and bus_of(stand).sent == []


def test_what_another_tester_was_heard_to_keep_its_session_with_is_in_the_journal(stand: Stand) -> None:
    stand.go_to("hear")
    bus_of(stand).ask("3E80")  # before it runs: no sign of life of this run
    begin(stand)
    for wait_s, asked, target in ((2, "3E80", None), (1, "22F189", None), (2, "3E80", 0x7DF), (1, "0C00", 0x7DF)):
        stand.wait(wait_s)
        bus_of(stand).ask(asked, *([] if target is None else [target]))
    stand.wait(2)
    end(stand)
    (kept,) = stand.bodies("keepalive")
    (intent,) = [one.seq for one in stand.journal.of("J1") if one.kind == "intent"]
    assert (kept.actuation, kept.request, kept.count, len(kept.at_mono)) == (intent, "3E80", 3, 3)
    assert abs(int(kept.largest_gap_ns) / 1e9 - 3) < 0.1  # from the last 3E to the stop


def test_where_nothing_was_heard_to_keep_the_session_no_entry_says_so(stand: Stand) -> None:
    stand.go_to("hear")
    ran(stand)
    assert stand.bodies("keepalive") == []


def test_what_was_asked_and_answered_is_in_the_journal_as_it_was_heard(stand: Stand) -> None:
    stand.go_to("hear")
    begin(stand, answer="7F3178")
    bus_of(stand).answer(STARTED)
    stand.wait(7.9)
    end(stand)
    start, stop = stand.bodies("exchange")
    assert (start.purpose, start.request, start.result) == ("start", START, "positive")
    assert [(one.payload, one.verdict) for one in start.answers] == [("7F3178", "pending"), (STARTED, "positive")]
    assert (stop.purpose, stop.request, stop.result) == ("stop", STOP, "positive")
    intent = next(one for one in stand.journal.made if one.kind == "intent")
    assert start.actuation == stop.actuation == intent.seq and intent.done_by == "machine:runner"


def test_the_whole_job_is_walked_by_listening(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    ran(stand)
    stand.go_to("hear", "p2")
    begin(stand, "2F71010305", "6F71010301")
    stand.until(lambda: stand.view["kind"] == "heard")
    stand.press("o")
    stand.wait(5)
    end(stand, "2F710100", "6F71010000")
    stand.go_to("done")
    assert [one.result for one in stand.bodies("outcome")] == ["completed", "completed"] and stand.errors == []
    assert ("opened", "rl") in [(one.act, one.nipple) for one in stand.bodies("step")]


def test_a_run_that_begins_before_the_nipple_is_said_to_be_open_still_counts_for_its_pass(stand: Stand) -> None:
    stand.go_to("open", "p1")
    begin(stand)
    stand.until(lambda: stand.view["kind"] == "heard")
    stand.press("o")
    stand.wait(7.9)
    end(stand)
    stand.until(lambda: stand.view["kind"] == "close")
    assert stand.state.open_nipples == ("rr",)


def test_one_that_is_stopped_early_is_decided_on(stand: Stand) -> None:
    stand.go_to("hear")
    ran(stand, 3)
    (outcome,) = stand.bodies("outcome")
    assert outcome.result == "stopped" and "after 3." in outcome.why and stand.view["kind"] == "close"


def test_one_whose_end_is_not_heard_is_unknown_and_is_looked_at_without_a_stop_of_ours(stand: Stand) -> None:
    stand.go_to("hear")
    begin(stand)
    stand.wait(24)
    (outcome,) = stand.bodies("outcome")
    assert (outcome.result, outcome.stop, outcome.to_mono) == ("unknown", "unknown", "")
    assert stand.view["kind"] == "inspect" and "Stop it on the other tester." in stand.view["text"]
    assert "s" not in [one["key"] for one in stand.view["buttons"]]
    stand.press("1")
    assert stand.view["kind"] == "close"


def test_a_stop_that_is_refused_ends_nothing(stand: Stand) -> None:
    stand.go_to("hear")
    begin(stand)
    end(stand, answer="7F3122")
    assert stand.bodies("outcome") == [] and stand.view["kind"] == "heard"
    stand.wait(24)
    assert stand.bodies("outcome")[0].result == "unknown"


def test_a_start_that_is_refused_is_recorded_and_the_walk_stays(stand: Stand) -> None:
    stand.go_to("hear")
    begin(stand, answer="7F3122")
    (outcome,) = stand.bodies("outcome")
    assert (outcome.result, outcome.code) == ("refused", "22") and stand.view["kind"] == "hear"
    assert "pump did not start" in stand.errors[-1]["what"] and "22 conditionsNotCorrect" in stand.errors[-1]["what"]
    assert "on the other tester" in stand.errors[-1]["hint"]


def test_a_start_without_an_answer_is_unknown(stand: Stand) -> None:
    stand.go_to("hear")
    bus_of(stand).ask(START)
    stand.wait(7)
    assert stand.bodies("outcome")[0].result == "unknown" and stand.view["kind"] == "inspect"
    assert stand.errors[-1]["what"].startswith("no answer") and stand.errors[-1]["hint"].startswith("Stop it on")


def test_a_start_whose_answer_is_suppressed_is_unknown(stand: Stand) -> None:
    stand.go_to("hear")
    bus_of(stand).ask("3181030108")
    stand.wait(0.1)
    assert stand.bodies("outcome")[0].result == "unknown"


def other(stand: Stand, answer: str = "6F71010301") -> None:
    """Another tester asks for the valve while the pass of the pump is in hand."""
    begin(stand, "2F71010305", answer)


def end_other(stand: Stand) -> None:
    end(stand, "2F710100", "6F71010000")


def test_another_wire_command_than_the_passs_is_a_run_of_no_pass_with_its_answers_and_its_length(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    other(stand)
    assert stand.view["kind"] == "close" and stand.view["nipples"] == ["rr"]
    assert stand.view["text"].startswith("VALVE RUNS, heard: it is NOT this pass's. Stop it on the other tester.")
    assert "A NIPPLE IS OPEN. Close the nipple" in stand.view["text"] and stand.view["fallback"]
    stand.wait(4)
    end_other(stand)
    (intent,), (outcome,) = stand.bodies("intent"), stand.bodies("outcome")
    assert (intent.pass_id, intent.nipples, intent.wire_command, intent.grade) == ("", (), "valve", "heard")
    assert (outcome.result, outcome.stop, outcome.pass_id) == ("stopped", "confirmed", "")
    assert abs(int(outcome.duration_ns) / 1e9 - 4.1) < 0.1
    assert [(one.purpose, one.result, one.heard) for one in stand.bodies("exchange")] == [
        ("start", "positive", True),
        ("stop", "positive", True),
    ]
    assert stand.view["kind"] == "hear" and stand.state.decide == "", "the walk waits for its own run"
    assert "motor rests for another" in stand.view["text"], "it counts for the rest before this pass's own run"
    assert "valve, which is not this pass's, ran 4.1 s" in [one["said"] for one in stand.told if "said" in one][-1]


def test_while_another_wire_command_runs_with_every_nipple_shut_nothing_asks_to_open_one(stand: Stand) -> None:
    stand.go_to("open", "p1")
    other(stand)
    assert "Leave every nipple shut." in stand.view["text"] and "VALVE RUNS" in stand.view["text"]
    assert not stand.view.get("buttons") and stand.view["fallback"]
    end_other(stand)
    assert stand.view["kind"] in ("open", "busy") and "RUNS" not in stand.view["text"]


def test_a_run_that_was_made_with_the_nipple_shut_is_decided_on_and_the_real_one_is_asked_for(stand: Stand) -> None:
    stand.go_to("open", "p1")
    ran(stand)
    assert stand.view["kind"] == "decide" and "its nipple was shut" in stand.view["text"]
    stand.press("r")
    stand.wait(60)
    stand.go_to("hear", "p1")
    assert stand.state.open_nipples == ("rr",)


def test_a_run_that_was_made_with_the_nipple_shut_and_is_kept_asks_for_no_opening_and_no_closing(stand: Stand) -> None:
    stand.go_to("open", "p1")
    ran(stand)
    stand.press("k", "enough came")
    point = stand.state.point
    assert point is not None and point.kind not in ("open", "run", "close")


def test_a_start_that_was_heard_without_an_end_says_for_how_long_the_other_tester_was_silent(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    begin(stand)
    stand.wait(7)
    notes = [str(one["run"].get("note", "")) for one in stand.told if "run" in one]
    assert not notes[0]
    assert notes[-1].startswith("start heard; no end heard yet; nothing from the other tester for ")


def test_another_wire_command_that_is_refused_is_recorded_with_its_code(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    other(stand, answer="7F2F22")
    (outcome,) = stand.bodies("outcome")
    assert (outcome.result, outcome.code, outcome.pass_id) == ("refused", "22", "")
    assert "valve, which is not this pass's, did not start" in stand.errors[-1]["what"]
    assert stand.view["kind"] == "hear" and stand.state.inspect is None


def test_another_wire_command_beside_the_passs_run_is_timed_apart_from_it(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    begin(stand)
    stand.until(lambda: stand.view["kind"] == "heard")
    stand.wait(2)
    other(stand)
    stand.wait(2)
    end_other(stand)
    assert stand.view["kind"] == "heard", "the pass's own run goes on"
    stand.wait(3.75)
    end(stand)
    ended = {one.pass_id: (one.result, int(one.duration_ns) / 1e9) for one in stand.bodies("outcome")}
    assert ended[""][0] == "stopped" and abs(ended[""][1] - 2.1) < 0.1
    assert ended["p1"][0] == "completed" and abs(ended["p1"][1] - 8.1) < 0.2
    assert stand.view["kind"] == "close"


def test_another_wire_command_whose_end_is_not_heard_is_looked_at_and_the_walk_goes_on(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    other(stand)
    stand.wait(19)
    assert stand.bodies("outcome")[0].result == "unknown" and stand.view["kind"] == "inspect"
    assert "valve, which is not this pass's" in stand.errors[-1]["what"]
    stand.press("1")
    assert stand.view["kind"] == "hear" and stand.state.inspect is None
    ran(stand)
    assert stand.view["kind"] == "close"


def test_two_whose_ends_are_not_heard_are_both_looked_at(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    begin(stand)
    other(stand)
    bus_of(stand).gone = True
    stand.wait(0.1)
    assert [one.result for one in stand.bodies("outcome")] == ["unknown", "unknown"]
    for _ in range(2):
        assert stand.view["kind"] == "inspect"
        stand.press("1")
    looked = {one.actuation for one in stand.bodies("inspection")}
    assert looked == {one.actuation for one in stand.bodies("outcome")} and stand.view["kind"] != "inspect"


def test_a_crash_while_two_run_leaves_both_interrupted(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    begin(stand)
    other(stand)
    stand.crash()
    assert [one.pass_id for one in stand.bodies("interrupted")] == ["", "p1"]
    assert stand.view["kind"] == "inspect" and stand.state.decide == "p1"


def test_a_second_run_of_a_pass_that_ran_stands_for_none_when_it_is_done_again(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    ran(stand)
    ran(stand)
    stand.runner.record.said(bodies.StepDone(step=MISSED, act="skipped", pass_id="p1", nipple="rr"))
    stand.go_to("decide")
    stand.press("r")
    stand.go_to("open", "p1")
    stand.press("y")
    assert stand.state.point is not None and stand.state.point.kind == "run"


def test_one_that_was_stopped_and_is_made_again_at_once_goes_on_and_passes_nothing_over(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    ran(stand, 3)
    ran(stand)
    assert stand.view["kind"] == "close" and stand.state.decide == ""
    stand.press("y")
    assert stand.view["what"] == "torque"


def test_one_that_is_made_again_with_its_nipple_shut_decides_nothing_and_passes_nothing_over(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    ran(stand, 3)
    stand.press("y")
    assert stand.view["kind"] == "decide"
    ran(stand)
    assert stand.view["kind"] == "decide" and "its nipple was shut" in stand.view["text"]
    stand.press("k", "enough came")
    assert stand.view["what"] == "torque"


def test_one_made_once_more_and_stopped_takes_nothing_of_what_is_still_to_be_done_at_the_nipple(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    ran(stand)
    assert stand.view["kind"] == "close"
    ran(stand, 3)
    stand.go_to("decide")
    stand.press("k", "enough came before")
    assert stand.view["what"] == "torque"


def test_one_besides_whose_end_nobody_knows_is_looked_at_though_the_passs_own_is_stopped_after_it(
    stand: Stand,
) -> None:
    stand.go_to("hear", "p1")
    other(stand)
    stand.wait(17)
    begin(stand)
    stand.wait(2)
    besides = stand.state.inspect
    assert besides is not None
    end(stand)
    assert [one.result for one in stand.bodies("outcome")] == ["unknown", "stopped"]
    assert stand.state.inspect == besides and stand.view["kind"] == "inspect"
    stand.press("1")
    assert stand.state.inspect is None and stand.state.decide == "p1"


def test_other_traffic_and_other_routines_are_no_runs(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    for asked, answered in (("22F189", "62F1890102"), ("31030301", "71030301"), ("31010302", "71010302")):
        begin(stand, asked, answered)
    bus_of(stand).ask(START, 0x7B0)
    stand.wait(7)
    assert stand.bodies("intent") == [] and events(stand) == ["listening"]


def test_a_link_that_is_lost_while_it_runs_leaves_it_unknown(stand: Stand) -> None:
    stand.go_to("hear")
    begin(stand)
    bus_of(stand).ask("3E80")
    stand.wait(2)
    bus_of(stand).gone = True
    stand.wait(0.1)
    (outcome,) = stand.bodies("outcome")
    assert outcome.result == "unknown" and "lost" in outcome.why
    assert [one.count for one in stand.bodies("keepalive")] == [1], "what was heard is kept, though the end was not"


def test_a_plugin_that_breaks_while_it_listens_is_named_and_over_its_close_too(
    stand: Stand, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise LinkError("plugin x (x 1) at x: broke: KeyError", kind=BROKEN, hint="tell its author")

    stand.go_to("hear")
    begin(stand)
    monkeypatch.setattr(bus_of(stand), "receive", broken)
    monkeypatch.setattr(bus_of(stand), "close", broken)
    stand.turn(6)
    (outcome,) = stand.bodies("outcome")
    assert (outcome.result, outcome.stop) == ("unknown", "unknown")
    stand.runner.leave("the test is over")
    stand.runner.run()
    stand.turn(6)
    events = [(one.what, one.detail) for one in stand.bodies("event")]
    assert {what for what, detail in events if "plugin x (x 1)" in detail} == {"lost", "plugin broke"}


def test_a_job_abandoned_while_it_runs_leaves_it_unknown(stand: Stand) -> None:
    stand.go_to("hear")
    begin(stand)
    stand.send(do="abandon", why="called away")
    stand.wait(0.1)
    assert stand.bodies("outcome")[0].result == "unknown"


def test_a_job_is_paused_at_once_while_a_run_is_heard_which_is_listened_to_its_end(stand: Stand) -> None:
    stand.go_to("hear")
    begin(stand)
    stand.do(do="pause", why="called away")
    assert stand.state.status == "paused" and not stand.errors and not stand.bodies("outcome")
    assert stand.view["kind"] == "paused" and stand.view["fallback"]
    assert stand.view["text"].startswith("PUMP RUNS, heard. Stop it on the other tester. A NIPPLE IS OPEN. Close the")
    stand.wait(7.8)
    end(stand)
    assert (stand.bodies("outcome")[0].result, stand.bodies("outcome")[0].pass_id) == ("completed", "p1")
    assert stand.view["text"].startswith("Paused with a nipple OPEN.") and not stand.view.get("fallback")
    stand.press("y")
    stand.press("r")
    assert stand.state.open_nipples == () and stand.state.point is not None and stand.state.point.kind != "run"


def test_a_run_that_begins_while_the_job_is_paused_is_no_passs_and_said_on_the_page_of_the_pause(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    stand.do(do="pause", why="called away")
    stand.press("n")
    begin(stand)
    assert stand.view["kind"] == "paused" and stand.view["fallback"] == "Close the nipple, ignition off."
    text = "PUMP RUNS, heard: it is NOT this pass's. Stop it on the other tester. A NIPPLE IS OPEN. Close the nipple"
    assert stand.view["text"].startswith(text) and "r" in [one["key"] for one in stand.view["buttons"]]
    stand.press("y")
    assert stand.state.open_nipples == () and "Leave every nipple shut." in stand.view["text"]
    end(stand)
    assert [one.pass_id for one in stand.bodies("intent")] == [""] and "RUNS" not in stand.view["text"]
    assert stand.state.point is not None and stand.state.point.kind in ("open", "run"), "its own run is still to come"


@pytest.mark.parametrize("page", ["reading", "step"])
def test_a_run_while_something_else_is_asked_and_the_nipple_is_shut_is_no_passs(stand: Stand, page: str) -> None:
    stand.go_to("reading", "p1")
    if page == "step":
        stand.do(do="pause", why="called away")
        stand.press("n")
        stand.press("r")
        assert "Look at the reservoir" in stand.view["text"]
    begin(stand)
    assert stand.view["text"].startswith("PUMP RUNS, heard: it is NOT this pass's.") and stand.view["fallback"]
    assert "Leave every nipple shut." in stand.view["text"]
    end(stand)
    assert [one.pass_id for one in stand.bodies("intent")] == [""] and stand.state.decide == ""


def test_a_run_while_the_last_steps_are_done_is_said_on_their_page(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    ran(stand)
    stand.go_to("hear", "p2")
    begin(stand, "2F71010305", "6F71010301")
    stand.press("o")
    stand.wait(5)
    end(stand, "2F710100", "6F71010000")
    stand.go_to("step", "")
    begin(stand)
    assert "PUMP RUNS, heard: it is NOT this pass's." in stand.view["text"] and stand.view["fallback"]


def events(stand: Stand) -> list[str]:
    return [one.what for one in stand.bodies("event")]


def test_when_we_listened_and_when_no_longer_is_in_the_journal(stand: Stand) -> None:
    stand.go_to("hear")
    assert events(stand) == ["listening"]
    stand.runner.leave("the test is over")
    stand.runner.run()
    stand.turn(6)
    assert events(stand)[-1] == "not listening"


def test_a_lost_link_is_said_at_the_head_and_listens_again_by_itself_once_it_is_back(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    bus_of(stand).gone = True
    stand.wait(0.1)
    assert stand.view["kind"] == "close", "its nipple is open"
    assert stand.view["text"].startswith("NOTHING IS HEARD ANY MORE: ") and "NIPPLE IS OPEN" in stand.view["text"]
    stand.press("y")
    assert stand.view["kind"] == "hear" and "Leave every nipple shut" in stand.view["text"]
    assert stand.view["buttons"] == [{"key": "l", "label": "listen again now"}]
    bus_of(stand).gone = False
    stand.wait(2.5)
    assert "NOTHING" not in stand.view["text"] and events(stand)[-1] == "listening" and "lost" in events(stand)


def test_what_is_said_when_nothing_is_heard_names_the_pass_its_nipple_is_open_for_and_no_later_one(
    stand: Stand,
) -> None:
    stand.go_to("hear", "p1")
    first = stand.state.plan[0]
    again = replace(stand.state, plan=(*stand.state.plan, msgspec.structs.replace(first, id="p9")))
    shown = unheard_view(again, elsewhere_view(again, first), "NOTHING IS HEARD ANY MORE: it is gone.", lost=True)
    assert shown.kind == "close" and shown.title.startswith("Pass 1 of 3: ") and shown.pass_id == "p1"
    here = replace(again, points=tuple(replace(one, pass_id="p9") for one in again.points),
                   was_open=frozenset({*again.was_open, ("p9", first.nipples[0])}))  # fmt: skip
    assert unheard_view(here, elsewhere_view(here, first), "NOTHING", lost=True).title.startswith("Pass 3 of 3: ")


def test_a_nipple_is_called_by_its_name_while_it_runs_elsewhere(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    ran(stand)
    stand.go_to("hear", "p2")
    begin(stand, "2F71010305", "6F71010301")
    stand.until(lambda: stand.view["kind"] == "heard")
    assert "Open the nipple rear left now." in stand.view["text"]


def test_a_loss_that_the_link_says_and_raises_besides_is_one(stand: Stand, monkeypatch: pytest.MonkeyPatch) -> None:
    stand.go_to("open", "p1")
    said = [Event("lost", stand.clock.stamp(), detail="unplugged")]

    def receive(wait_s: float) -> list[Event]:
        if not said:
            raise LinkError("the interface is gone", kind="gone", hint="")
        return [said.pop()]

    monkeypatch.setattr(bus_of(stand), "receive", receive)
    stand.turn(6)
    assert events(stand).count("lost") == 1 and len(stand.errors) == 1


def test_a_lost_link_stands_at_the_head_of_every_other_view_too(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    ran(stand)
    assert stand.view["kind"] == "close"
    bus_of(stand).gone = True
    stand.wait(0.6)
    assert stand.view["kind"] == "close"
    assert stand.view["text"].startswith("NOTHING IS HEARD ANY MORE: the interface is gone. Plug the interface in. ")


def test_a_key_listens_again_at_once(stand: Stand) -> None:
    stand.go_to("open", "p1")
    bus_of(stand).gone = True
    stand.until(lambda: stand.view["kind"] == "hear")
    bus_of(stand).gone = False
    stand.press("l")
    stand.turn(3)
    assert events(stand)[-2:] == ["lost", "listening"]


def test_a_bus_that_fell_silent_is_said_and_recorded_since_when_and_again_when_it_speaks(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    stand.wait(11)
    assert "NOTHING HEARD ON THE BUS FOR 10 s" in stand.view["caution"]
    silent = next(one for one in stand.journal.of("J1") if one.kind == "event" and one.body["what"] == "bus silent")
    assert silent.occurred.to_ns - silent.occurred.from_ns >= 10 * 10**9
    bus_of(stand).ask("22F190")
    stand.wait(0.6)
    assert events(stand)[-1] == "listening" and "NOTHING" not in stand.view.get("caution", "")


def test_a_run_of_which_only_the_end_was_heard_is_in_the_journal(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    end(stand)
    assert [one.detail for one in stand.bodies("event")] == ["", "pump, its end was heard and its start was not"]


def test_an_end_that_is_heard_after_the_link_was_lost_is_of_the_run_that_was_heard_to_begin(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    begin(stand)
    bus_of(stand).gone = True
    stand.wait(1)
    bus_of(stand).gone = False
    stand.wait(2.5)
    end(stand)
    (intent,) = [one.seq for one in stand.journal.of("J1") if one.kind == "intent"]
    stops = [one for one in stand.bodies("exchange") if one.purpose == "stop"]
    assert [(one.actuation, one.pass_id, one.result) for one in stops] == [(intent, "p1", "positive")]
    assert "heard elsewhere" not in events(stand) and [one.result for one in stand.bodies("outcome")] == ["unknown"]
    assert {"said": "a stop of pump was confirmed now: look all the same"} in stand.told


def test_an_end_that_is_heard_after_a_person_looked_is_of_another_run(stand: Stand) -> None:
    stand.go_to("hear", "p1")
    begin(stand)
    bus_of(stand).gone = True
    stand.wait(1)
    bus_of(stand).gone = False
    stand.until(lambda: stand.view["kind"] == "inspect")
    stand.press("1")
    end(stand)
    assert events(stand)[-1] == "heard elsewhere"


def test_a_face_that_is_gone_leaves_it_unknown_and_the_runner_ends(stand: Stand) -> None:
    stand.go_to("hear")
    begin(stand)
    stand.runner.leave("the face is gone")
    stand.wait(0.1)
    assert stand.runner.over() and stand.bodies("outcome")[0].result == "unknown"


def test_a_screen_that_a_person_left_is_not_said_to_be_lost(stand: Stand) -> None:
    stand.go_to("hear")
    begin(stand)
    stand.runner.leave(SCREEN_LOST)
    stand.wait(0.1)
    assert stand.bodies("outcome")[0].why == "we stopped listening while it ran: the screen was left or lost"


def test_a_crash_while_it_runs_asks_for_an_inspection_without_a_stop_of_ours(stand: Stand) -> None:
    stand.go_to("hear")
    begin(stand)
    stand.crash()
    assert stand.view["kind"] == "inspect" and "s" not in [one["key"] for one in stand.view["buttons"]]


def test_stop_says_where_it_is_stopped_and_sends_nothing(stand: Stand) -> None:
    stand.go_to("hear")
    begin(stand)
    stand.stop()
    stand.turn()
    assert stand.errors[-1]["hint"] == "Stop it on the other tester." and bus_of(stand).sent == []
    assert stand.bodies("outcome") == []


def test_stop_where_nothing_can_run_says_nothing(stand: Stand) -> None:
    stand.go_to("step")
    stand.stop()
    stand.turn()
    assert stand.errors == []


def test_nothing_is_asked_of_the_control_unit_by_the_machine(stand: Stand) -> None:
    stand.go_to("hear")
    assert stand.unit.heard == [] and bus_of(stand).sent == []
    with pytest.raises(LocalError, match="no link"):
        stand.runner.arm({})


def link_with(**capabilities: object) -> FrameLink:
    link = ListeningLink()
    link.capabilities = Capabilities(**capabilities)  # type: ignore[arg-type]
    return link


@pytest.mark.parametrize(
    "link",
    [
        link_with(listen="acknowledging", can_send=False),
        link_with(listen="no", can_send=False),
        link_with(listen="silent", can_send=True),
    ],
)
def test_a_link_that_does_not_promise_silence_is_refused(stand: Stand, link: FrameLink) -> None:
    with pytest.raises(LocalError, match="does not promise"):
        require_silent(link)
    with pytest.raises(LocalError, match="does not promise"):
        listen(lambda: link, stand.state.map, stand.runner.record, stand.clock, lambda message: None)
    assert isinstance(link, ListeningLink) and link.closed


def test_a_link_that_shows_whole_messages_is_refused(stand: Stand) -> None:
    with pytest.raises(LocalError, match="whole messages"):
        require_silent(MemoryMessageLink(stand.unit))


def test_without_a_map_nothing_could_be_recognised(stand: Stand) -> None:
    with pytest.raises(LocalError, match="no map"):
        listen(ListeningLink, None, stand.runner.record, stand.clock, lambda message: None)


def test_codes_that_another_tester_clears_are_heard_as_they_were_asked_and_answered(stand: Stand) -> None:
    bus_of(stand).ask("14FFFFFF")
    stand.wait(0.05)
    bus_of(stand).answer("54")
    stand.until(lambda: [one for one in stand.told if "said" in one])
    (heard,) = [one for one in stand.bodies("exchange") if one.purpose == "clear"]
    assert (heard.request, heard.result, heard.actuation) == ("14FFFFFF", "positive", None)
    assert stand.told[-1] == {"said": "another tester cleared the trouble codes: scan them again"}
    assert stand.unit.heard == [] and bus_of(stand).sent == []
