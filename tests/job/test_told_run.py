"""A vehicle without map or link: two touches tell of a run, and nothing is opened, sent or heard."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

import pytest
from tests.job.stand import PROCEDURE, Stand

from witnessmark.audit.case import open_case
from witnessmark.job.screens.pause_view import others_view
from witnessmark.job.walk.standing import standing
from witnessmark.report.lines import line


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand(grade="told", without_map=True)
    yield made
    made.close()


def tell(stand: Stand, key: str = "e", said: str = "", seconds: float = 8) -> None:
    stand.press("b")
    stand.wait(seconds)
    stand.press(key, said)


def rested(stand: Stand) -> None:
    """Wait until the screen says no more that the motor rests."""
    assert "motor rests for another" in stand.view["text"]
    stand.until(lambda: "motor rests" not in stand.view["text"])
    stand.go_to("tell")


def test_two_touches_tell_a_run_as_ranges_and_the_screen_says_where_it_is_stopped(stand: Stand) -> None:
    stand.go_to("tell")
    assert "Start it within 30 s of the opening. " in stand.view["text"]
    assert "Stop it on the other tester." in stand.view["text"]
    assert stand.view["fallback"] == "Close the nipple, ignition off."
    stand.press("b")
    assert stand.view["kind"] == "told" and "Stop it on the other tester." in stand.view["text"]
    assert "Let it run 8 s, then press as it ends." in stand.view["text"]
    assert stand.view["takes_s"] == "7", "8 s, with the tolerance that the pass gives"
    stand.wait(8)
    stand.press("e")
    (intent,), (outcome,) = stand.bodies("intent"), stand.bodies("outcome")
    assert (intent.grade, intent.pass_id, intent.start, intent.peer) == ("told", "p1", "", {})
    assert (outcome.result, outcome.from_mono) == ("completed", "")
    entries = [one for one in stand.journal.made if one.kind in ("intent", "outcome")]
    assert {(one.done_by, one.occurred.basis) for one in entries} == {("person:t-otter", "touch")}
    assert all(int(one.occurred.to_ns) - int(one.occurred.from_ns) == 2_000_000_000 for one in entries)


def test_one_that_did_not_start_after_all_is_no_run_and_is_asked_for_again(stand: Stand) -> None:
    stand.go_to("tell", "p1")
    tell(stand, "0", seconds=3)
    assert stand.view["kind"] == "tell" and "motor rests" not in stand.view["text"]
    assert stand.state.runs == () and stand.state.decide == "" and stand.state.open_nipples == ("rr",)
    tell(stand)
    case = open_case(stand.journal.made)
    assert [one.began for one in case.timeline.actuations] == ["no", "yes"]
    assert "not started, as t-otter said" in line("outcome", stand.bodies("outcome")[0], done_by="person:t-otter")


def test_one_that_ran_and_ended_before_anybody_pressed_lay_somewhere_since_the_touch_before(stand: Stand) -> None:
    stand.go_to("tell", "p1")
    opened_ns = stand.state.last_wall_ns
    stand.wait(12)
    stand.press("e")
    (intent,), (outcome,) = stand.bodies("intent"), stand.bodies("outcome")
    assert (intent.grade, outcome.result, outcome.from_mono) == ("told", "completed", "")
    assert outcome.why == "as told once it had ended: nobody pressed as it started"
    entries = [one for one in stand.journal.made if one.kind in ("intent", "outcome")]
    assert {one.occurred.from_ns for one in entries} == {opened_ns}
    assert all(one.occurred.to_ns - opened_ns >= 12_000_000_000 for one in entries)
    assert stand.view["kind"] == "close" and stand.state.inspect is None and stand.errors == []
    assert "TOO SHORT" not in stand.view["text"]


def test_a_whole_job_is_walked_with_no_link_and_no_map(stand: Stand) -> None:
    stand.go_to("tell", "p1")
    tell(stand)
    stand.go_to("tell", "p2")
    rested(stand)
    stand.press("b")
    assert stand.view["nipples"] == ["rl"] and "Open the nipple rear left now." in stand.view["text"]
    stand.press("o")
    stand.wait(5)
    stand.press("e")
    stand.go_to("done")
    stand.press("f")
    assert stand.state.status == "finished" and stand.errors == []
    assert stand.opens == 0 and stand.unit.heard == [] and "armed" not in stand.kinds()


def test_the_rest_that_is_asked_after_the_run_before_stands_before_the_next(stand: Stand) -> None:
    stand.go_to("tell", "p1")
    assert "Rest since the run before" not in stand.view["shown"]
    tell(stand)
    stand.go_to("tell", "p2")
    assert "shown" not in stand.view
    rested(stand)
    assert stand.view["shown"]["Rest since the run before"] == "at least 10 s"


def test_one_that_ended_early_is_decided_on_and_can_be_done_again(stand: Stand) -> None:
    stand.go_to("tell")
    tell(stand, "x")
    assert stand.bodies("outcome")[0].result == "stopped" and stand.view["kind"] == "close"
    stand.press("y")
    stand.press("0", "the tester stopped by itself")
    stand.press("r")
    stand.until(lambda: stand.view["kind"] == "reading")
    stand.follow()
    rested(stand)
    stand.go_to("tell", "p1")
    tell(stand)
    assert [one.result for one in stand.bodies("outcome")] == ["stopped", "completed"]


def told_early(stand: Stand, seconds: float = 4) -> None:
    """Tell of a run that ended after so many seconds, and close the nipple."""
    stand.go_to("tell")
    tell(stand, "x", seconds=seconds)
    stand.press("y")


def test_one_that_ended_early_ended_with_the_touch_and_not_when_its_reason_was_picked(stand: Stand) -> None:
    told_early(stand)
    stand.wait(14)
    assert stand.view["kind"] == "why" and "that moment is recorded" in stand.view["text"]
    stand.press("2")
    entries = [one for one in stand.journal.made if one.kind in ("intent", "outcome")]
    began, ended = (int(one.occurred.from_ns) + int(one.occurred.to_ns) for one in entries)
    assert abs((ended - began) / 2e9 - 4) < 0.2
    (why,) = [one for one in stand.bodies("step") if one.step == "ended-early"]
    assert (why.said, why.pass_id) == ("it stopped by itself", "p1") and stand.view["kind"] == "decide"


def test_why_one_ended_early_is_asked_again_after_a_crash(stand: Stand) -> None:
    told_early(stand)
    stand.crash()
    assert stand.view["kind"] == "why" and stand.bodies("outcome")[0].result == "stopped"
    stand.press("1")
    assert stand.view["kind"] == "decide"
    stand.crash()
    assert stand.view["kind"] == "decide"


def test_one_that_nobody_saw_end_is_looked_at_and_no_stop_of_ours_is_offered(stand: Stand) -> None:
    stand.go_to("tell")
    tell(stand, "u", "was at the other wheel")
    assert stand.bodies("outcome")[0].result == "unknown" and stand.view["kind"] == "inspect"
    assert [one["key"] for one in stand.view["buttons"]] == ["1", "2", "3"]
    assert "Stop it on the other tester." in stand.view["text"]


def test_no_hand_is_sent_to_an_open_nipple_before_somebody_has_seen_it_at_rest(stand: Stand) -> None:
    stand.go_to("tell")
    stand.press("b")
    on = "The feed's pressure is on."
    until = ["Nipple rear right is OPEN: do not touch it until it is seen at rest.", on]
    assert stand.view["stands"] == until, "left now, it runs on"
    stand.press("u", "was at the other wheel")
    assert stand.view["stands"] == until and list(standing(stand.state)) == until
    stand.press("3")
    at = datetime.fromtimestamp(stand.journal.of("J1")[-1].recorded.wall_ns / 1e9).strftime("%H:%M:%S")
    assert f"SEEN at {at}: not at rest, or not safe. That is recorded. Hands stay clear" in stand.view["text"]
    assert (stand.view["kind"], stand.view["stands"]) == ("inspect", until)
    stand.crash()
    assert f"SEEN at {at}" in stand.view["text"] and stand.view["stands"] == until
    stand.press("1")
    assert stand.view["stands"] == ["Nipple rear right is OPEN: close it.", on]


def test_another_job_on_the_vehicle_has_it_seen_at_rest_before_a_nipple_is_closed(stand: Stand) -> None:
    stand.go_to("tell")
    tell(stand, "u", "was at the other wheel")
    text = others_view(replace(stand.state, others=standing(stand.state))).text
    assert text.endswith("See that it is at rest, then close it and let it off first of all.")


def test_a_job_is_not_put_down_while_a_run_was_not_said_to_end(stand: Stand) -> None:
    stand.go_to("tell")
    stand.press("b")
    for command in ("pause", "abandon"):
        stand.send(do=command, why="lunch")
        stand.turn(5)
        assert "has not been said to have ended" in stand.errors[-1]["what"]
        assert stand.errors[-1]["hint"].startswith("say first how it ended: e, x before its time, u nobody saw it")
    assert stand.state.status == "open"


def test_a_crash_between_the_touches_asks_for_an_inspection(stand: Stand) -> None:
    stand.go_to("tell")
    stand.press("b")
    stand.crash()
    assert stand.view["kind"] == "inspect" and "interrupted" in stand.kinds()


def test_a_run_that_was_left_between_the_touches_says_that_it_was_only_told(stand: Stand) -> None:
    stand.go_to("tell")
    stand.press("b")
    stand.crash()
    (found,) = [one.found for one in stand.bodies("interrupted")]
    assert "told to have started on another tester" in found and "may have run" not in found


def test_that_nobody_saw_it_end_is_said_by_a_number(stand: Stand) -> None:
    stand.go_to("tell")
    stand.press("b")
    (button,) = [one for one in stand.view["buttons"] if one["key"] == "u"]
    assert len(button["reasons"]) >= 3


def test_why_it_ended_early_is_said_by_a_number_or_in_words(stand: Stand) -> None:
    told_early(stand)
    assert [(one["key"], one.get("asks", False)) for one in stand.view["buttons"]] == [
        ("1", False), ("2", False), ("3", False), ("0", True),
    ]  # fmt: skip


def test_stop_says_where_it_is_stopped(stand: Stand) -> None:
    stand.go_to("tell")
    stand.press("b")
    stand.stop()
    stand.turn()
    assert stand.errors[-1]["hint"] == "Stop it on the other tester." and stand.opens == 0


def test_one_job_may_mix_grades_and_what_was_told_counts_for_the_motors_rest() -> None:
    stand = Stand(grade="told")
    try:
        stand.go_to("tell", "p1")
        tell(stand)
        stand.grade = "sent"
        stand.crash()
        stand.go_to("busy", "p2")
        stand.arm_anyway()
        assert stand.errors[-1]["rule"] == "cool-down" and stand.acts == []
        stand.wait(20)
        stand.go_to("done")
        assert [one.grade for one in stand.bodies("intent")] == ["told", "sent"]
    finally:
        stand.close()


def test_why_a_run_ended_early_is_asked_of_none_that_comes_after_it_is_done_again_for_air(stand: Stand) -> None:
    stand.go_to("tell", "p1")
    tell(stand, "x", seconds=3)
    assert stand.state.why_due
    stand.send(do="say", what="empty")
    stand.until(lambda: "ran empty" in stand.view["text"])
    while stand.state.air:  # the nipple is shut, the feed let off, then it is done again
        stand.press(stand.view["buttons"][0]["key"])
    assert stand.state.decide == "" and not stand.state.why_due


def test_what_two_touches_cannot_prove_is_said_before_the_run() -> None:
    for tolerance, said in (("1 s", True), ("2 s", False)):
        text = PROCEDURE.replace('seconds_tolerance = "1 s"', f'seconds_tolerance = "{tolerance}"')
        stand = Stand(procedure=text, grade="told", without_map=True)
        stand.go_to("tell", "p1")
        shown = stand.view["shown"].get("What two touches can show", "")
        assert ("how long it ran to 2 s: for a run of 8 s there will hardly be proof" in shown) is said
        stand.close()


def test_a_run_in_minutes_is_told_and_kept_in_seconds() -> None:
    text = PROCEDURE.replace('seconds = "8 s"', 'seconds = "2 min"').replace('on_time = "', 'on_time = "1')
    stand = Stand(procedure=text, grade="told", without_map=True)
    stand.go_to("tell", "p1")
    stand.press("b")
    assert "Let it run 120 s" in stand.view["text"]
    assert [one.seconds for one in stand.bodies("intent")] == ["120"]
    stand.close()


def test_one_that_cannot_have_lasted_as_long_as_asked_is_told_so_at_its_end(stand: Stand) -> None:
    stand.go_to("tell", "p1")
    assert stand.view["buttons"][1]["label"].endswith("it counts as entered afterwards")
    tell(stand, seconds=1)
    said = stand.view["text"].partition("TOO SHORT: by the touches it can have run for ")[2]
    assert 3.0 <= float(said.partition(" s")[0]) < 7 and "s at most, 8 s are asked." in said
    stand.press("y")
    assert "TOO SHORT" not in stand.view["text"]


def test_one_that_lasts_longer_than_it_may_is_told_so_while_it_runs_and_at_its_end(stand: Stand) -> None:
    stand.go_to("tell", "p1")
    assert stand.view["shown"]["How long it may run"] == "at most 20 s"
    stand.press("b")
    shown = stand.view["id"]
    assert stand.view["shown"] == {"How long it may run": "at most 20 s"}
    stand.wait(23)
    assert list(stand.view["shown"]) == ["TOO LONG"]
    assert stand.view["shown"]["TOO LONG"].endswith(" s, at most 20 s are allowed. Stop it on the other tester.")
    assert stand.view["id"] == shown, "the key that says that it has ended counts as it did"
    stand.press("e")
    assert stand.view["text"].startswith(
        "Close the nipple rear right.\nTOO LONG: it ran for 23 s by the touches, at most"
    )
    stand.press("y")
    assert "TOO LONG" not in stand.view["text"]
