"""The runner from job to outcome, driven through its socket."""

from __future__ import annotations

import json
import socket
from collections.abc import Callable, Iterator

import pytest
from tests.job.stand import (
    ALIVE,
    MAP,
    PEER,
    PROCEDURE,
    SESSION,
    SPEED,
    START,
    STOP,
    VALVE_START,
    VALVE_STOP,
    VOLTAGE,
    Stand,
)

from witnessmark.audit.case import open_case
from witnessmark.link.frame import Message

STOPPED = bytes.fromhex("71020301")


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand()
    yield made
    made.close()


def run_for(stand: Stand, seconds: float) -> None:
    """Walk to the first run and let it run so long."""
    stand.go_to("armed")
    stand.send(do="start", view=stand.view["id"])
    stand.until(lambda: stand.view["kind"] == "running")
    stand.wait(seconds)


def ended(stand: Stand) -> tuple[str, str]:
    stand.until(lambda: stand.bodies("outcome"))
    outcome = stand.bodies("outcome")[-1]
    return outcome.result, outcome.stop


def test_a_job_walks_from_its_first_step_to_its_end(stand: Stand) -> None:
    stand.go_to("done")
    stand.press("f")
    assert stand.state.status == "finished" and stand.errors == []
    assert stand.view["text"].startswith("NOT RELEASED: DO NOT DRIVE."), "the last thing a technician reads"
    assert stand.acts == [START, STOP, VALVE_START, VALVE_STOP]
    assert [one.result for one in stand.bodies("outcome")] == ["completed", "completed"]
    assert stand.state.open_nipples == () and stand.state.point is None


def test_the_intent_is_in_the_journal_before_the_vehicle_hears_the_session_and_the_start(stand: Stand) -> None:
    seen: dict[bytes, list[str]] = {}
    take = stand.unit.take

    def listen(peer: object, payload: bytes) -> None:
        seen.setdefault(payload, stand.kinds())
        take(peer, payload)  # type: ignore[arg-type]

    stand.unit.take = listen  # type: ignore[method-assign]
    run_for(stand, 0.1)
    assert "intent" in seen[SESSION] and "intent" in seen[START]
    assert "intent" not in seen[SPEED]


def test_while_the_intent_is_not_on_disk_nothing_leaves(stand: Stand) -> None:
    stand.go_to("armed")
    heard = len(stand.unit.heard)
    stand.thread.held = True
    stand.send(do="start", view=stand.view["id"])
    stand.wait(5)
    assert len(stand.unit.heard) == heard
    stand.thread.held = False
    stand.until(lambda: START in stand.unit.heard)


def test_a_run_lasts_its_time_from_the_positive_answer_and_its_session_is_kept(stand: Stand) -> None:
    run_for(stand, 0)
    assert ended(stand) == ("completed", "confirmed")
    outcome, keep = stand.bodies("outcome")[0], stand.bodies("keepalive")[0]
    assert abs(int(outcome.duration_ns) / 1e9 - 8.0) < 0.1
    assert keep.request == "3E80" and keep.count == stand.unit.heard.count(ALIVE) == 4
    assert int(keep.largest_gap_ns) < 2.2e9


@pytest.mark.parametrize(
    ("address", "stated", "request_"),
    [
        ({"request": "28", "answer": "28", "bits": 8, "transport": "iso14230"}, {}, "3E01"),
        ({"request": "28", "answer": "28", "bits": 8, "transport": "iso14230"}, {"keep_alive": "3E02"}, "3E02"),
        ({"request": "7A0", "answer": "7A8"}, {"keep_alive": "3E00"}, "3E00"),
    ],
)
def test_the_session_is_kept_by_what_the_map_says_or_the_transport_needs(
    address: dict[str, object], stated: dict[str, object], request_: str
) -> None:
    stand = Stand(map_document={**MAP, "address": address, "timing": stated})
    try:
        stand.unit.table[bytes.fromhex(request_)] = [] if request_ == "3E02" else [(0.02, b"\x7e\x00")]
        run_for(stand, 0)
        assert ended(stand) == ("completed", "confirmed")
        (keep,) = stand.bodies("keepalive")
        assert keep.request == request_ and keep.count == stand.unit.heard.count(bytes.fromhex(request_)) == 4
        assert "event" not in stand.kinds(), "its answers are no news"
    finally:
        stand.close()


def test_supply_and_standstill_are_read_again_while_it_runs(stand: Stand) -> None:
    run_for(stand, 0)
    ended(stand)
    intent = next(one.seq for one in stand.journal.of("J1") if one.kind == "intent")
    watched = [one for one in stand.bodies("exchange") if one.purpose == "condition" and one.actuation == intent]
    assert {one.request for one in watched} == {"227001", "227002"} and len(watched) >= 3


def test_the_operators_stop_leaves_at_once_and_the_pass_is_to_be_decided(stand: Stand) -> None:
    run_for(stand, 2)
    stand.stop()
    stand.turn(1)
    assert stand.unit.heard[-1] == STOP
    assert ended(stand) == ("stopped", "confirmed")
    stand.until(lambda: stand.view["kind"] == "close")
    assert stand.view["text"].startswith("Close the nipple rear right now: the pressure is on.")
    assert stand.view["stands"] == ["Nipple rear right is OPEN: close it.", "The feed's pressure is on."]
    stand.press("y")
    assert stand.view["kind"] == "decide" and stand.view["stands"] == ["The feed's pressure is on."]
    states = [one["run"]["state"] for one in stand.told if "run" in one]
    assert states[-1] == "stop confirmed" and "stop sent" in states


def test_the_stop_byte_counts_in_the_middle_of_a_line(stand: Stand) -> None:
    run_for(stand, 1)
    stand.face.sendall(b'{"do": "say", "wh\x18at": "note"')
    stand.turn(1)
    assert stand.unit.heard[-1] == STOP


def test_any_key_of_the_running_view_stops(stand: Stand) -> None:
    run_for(stand, 1)
    stand.send(do="key", view=stand.view["id"], key="w")
    stand.turn(1)
    assert stand.unit.heard[-1] == STOP


def test_a_second_press_of_start_acts_on_nothing(stand: Stand) -> None:
    stand.go_to("armed")
    armed = stand.view["id"]
    stand.send(do="start", view=armed)
    stand.send(do="start", view=armed)
    stand.send(do="key", view=armed, key="s")
    stand.until(lambda: stand.view["kind"] == "running")
    assert stand.acts == [START] and [one["what"] for one in stand.errors] == ["the view has changed"] * 2
    assert ended(stand) == ("completed", "confirmed")


@pytest.mark.parametrize("held", [True, False], ids=["intent not on disk yet", "session not answered yet"])
def test_a_stop_before_the_start_has_left_sends_nothing(stand: Stand, held: bool) -> None:
    stand.go_to("armed")
    stand.thread.held = held
    stand.unit.table[SESSION] = [(0.5, bytes.fromhex("5003003201F4"))]
    stand.send(do="start", view=stand.view["id"])
    stand.turn(4)
    stand.stop()
    stand.turn(4)
    stand.thread.held = False
    assert ended(stand) == ("stopped", "not sent")
    stand.wait(1)
    assert stand.acts == [] and stand.view["kind"] == "arm"


def test_a_stop_while_counting_down_sends_nothing(stand: Stand) -> None:
    stand.go_to("armed", "p2")
    before = len(stand.acts)
    stand.send(do="start", view=stand.view["id"])
    stand.until(lambda: {"cue": 2} in stand.told)
    stand.stop()
    stand.until(lambda: len(stand.bodies("outcome")) == 2)
    stand.wait(4)
    assert (stand.bodies("outcome")[-1].stop, len(stand.acts)) == ("not sent", before)


def test_a_stop_while_the_start_is_worked_on_is_repeated_until_it_can_no_longer_start(stand: Stand) -> None:
    busy = bytes.fromhex("7F3121")
    stand.unit.table[START] = [(0.02, bytes.fromhex("7F3178")), (2.0, bytes.fromhex("71010301"))]
    stand.unit.table[STOP] = lambda: [(0.02, STOPPED if stand.clock.mono_ns() > until else busy)]
    stand.go_to("armed")
    stand.send(do="start", view=stand.view["id"])
    stand.until(lambda: START in stand.unit.heard)
    until = stand.clock.mono_ns() + 2_000_000_000
    stand.wait(0.1)
    stand.stop()
    assert ended(stand) == ("stopped", "confirmed")
    assert stand.unit.heard.count(STOP) > 2 and int(stand.bodies("outcome")[0].from_mono) > 0


def test_a_stop_that_overtakes_an_open_start_is_not_taken_as_confirmed(stand: Stand) -> None:
    # The unit confirms a stop before it has answered the start: it may still begin.
    stand.unit.table[START] = [(0.02, bytes.fromhex("7F3178")), (1.5, bytes.fromhex("71010301"))]
    stand.go_to("armed")
    stand.send(do="start", view=stand.view["id"])
    stand.until(lambda: START in stand.unit.heard)
    stand.wait(0.1)
    stand.stop()
    assert ended(stand) == ("stopped", "confirmed")
    assert stand.unit.heard_ns[len(stand.unit.heard) - 1 - stand.unit.heard[::-1].index(STOP)] > int(
        stand.bodies("outcome")[0].from_mono
    )


def test_a_refused_start_is_data_and_the_pass_can_be_armed_again(stand: Stand) -> None:
    stand.unit.table[START] = [(0.02, bytes.fromhex("7F3193"))]
    stand.go_to("armed")
    stand.press("s")
    assert ended(stand) == ("refused", "not sent") and stand.bodies("outcome")[0].code == "93"
    assert STOP not in stand.unit.heard
    stand.until(lambda: stand.view["kind"] == "arm")
    told = [one["run"] for one in stand.told if "run" in one][-1]
    assert (told["state"], told["why"]) == ("the control unit refused", "voltageTooLow"), "its start did leave"


def test_a_silent_start_is_stopped_and_asks_for_an_inspection(stand: Stand) -> None:
    stand.unit.table[START] = []
    stand.go_to("armed")
    stand.press("s")
    assert ended(stand) == ("unknown", "confirmed") and STOP in stand.unit.heard
    outcome = stand.bodies("outcome")[0]
    assert outcome.next_act == "Treat as running; hands clear. Close the nipple, ignition off."
    stand.until(lambda: stand.view["kind"] == "inspect")


def test_a_unit_that_goes_on_with_0x78_beyond_the_maps_budget_is_stopped(stand: Stand) -> None:
    stand.unit.table[START] = [(0.02 + 3 * turn, bytes.fromhex("7F3178")) for turn in range(10)]
    stand.go_to("armed")
    stand.press("s")
    ended(stand)
    start = next(one for one in stand.bodies("exchange") if one.purpose == "start")
    assert (start.result, start.budget) == ("silence", "pending budget") and STOP in stand.unit.heard


def test_a_stop_nobody_confirms_is_repeated_for_a_bounded_time_and_then_unknown(stand: Stand) -> None:
    run_for(stand, 1)
    stand.unit.table[STOP] = []
    began = stand.clock.mono_ns()
    stand.stop()
    assert ended(stand) == ("unknown", "unknown")
    assert 10 < (stand.clock.mono_ns() - began) / 1e9 < 20 and 5 < stand.unit.heard.count(STOP) < 25
    assert stand.errors[-1]["hint"].startswith("Treat as running; hands clear.")
    stand.until(lambda: stand.view["kind"] == "inspect")


def test_a_stop_after_the_session_was_lost_enters_it_again_first(stand: Stand) -> None:
    run_for(stand, 1)
    answers = iter(["7F317F", "71020301"])
    stand.unit.table[STOP] = lambda: [(0.02, bytes.fromhex(next(answers)))]
    stand.stop()
    assert ended(stand) == ("stopped", "confirmed")
    assert stand.unit.heard[-3:] == [STOP, SESSION, STOP]


def test_a_link_lost_while_it_runs_is_unknown_and_the_next_arming_opens_it_again(stand: Stand) -> None:
    run_for(stand, 1)
    stand.link.broken = True
    assert ended(stand) == ("unknown", "not sent")
    assert "event" in stand.kinds() and stand.errors[-1]["hint"].startswith("Treat as running")
    states = [one["run"]["state"] for one in stand.told if "run" in one]
    assert states[-1] == "unknown"
    stand.link.broken = False
    stand.go_to("decide")
    stand.press("r")
    stand.go_to("armed", "p1")
    assert stand.opens == 2


@pytest.mark.parametrize("asked", [SESSION, START], ids=["session", "start"])
def test_a_link_lost_before_an_answer_ends_in_an_outcome_that_the_audit_counts(stand: Stand, asked: bytes) -> None:
    stand.unit.table[asked] = []
    stand.go_to("armed", "p1")
    stand.send(do="start", view=stand.view["id"])
    stand.until(lambda: asked in stand.unit.heard)
    stand.link.broken = True
    assert ended(stand) == (("unknown", "not sent") if asked == START else ("stopped", "not sent"))
    (run,) = open_case(tuple(stand.journal.of("J1"))).timeline.actuations
    assert run.began == ("maybe" if asked == START else "no") and run.outcome == stand.bodies("outcome")[-1]
    assert stand.bodies("exchange")[-1].result == "lost"


def test_a_stop_that_the_interface_does_not_take_at_first_is_sent_again(stand: Stand) -> None:
    run_for(stand, 1)
    stand.link.stubborn = 3
    stand.stop()
    assert ended(stand) == ("stopped", "confirmed")


def test_a_start_that_the_interface_does_not_take_was_not_sent(stand: Stand) -> None:
    stand.go_to("armed")
    stand.send(do="start", view=stand.view["id"])
    stand.until(lambda: SESSION in stand.unit.heard)
    stand.link.stubborn = 1
    assert ended(stand) == ("refused", "not sent") and stand.acts == []


def test_a_stop_request_can_be_sent_at_the_inspection_and_needs_no_approval(stand: Stand) -> None:
    run_for(stand, 1)
    stand.crash()
    stand.until(lambda: stand.view["kind"] == "inspect")
    stand.press("s")
    stand.until(lambda: {"said": "stop confirmed"} in stand.told)
    assert stand.unit.heard[-1] == STOP and stand.bodies("exchange")[-1].purpose == "stop"


def test_a_journal_that_fails_while_it_runs_stops_the_run_and_ends_the_runner(stand: Stand) -> None:
    run_for(stand, 1)
    stand.journal.fails = lambda draft: "the disk is full"
    stand.until(lambda: STOP in stand.unit.heard, 5)
    stand.until(stand.runner.over)
    assert any("the disk is full" in one["what"] for one in stand.errors)
    stand.journal.fails = lambda draft: ""
    stand.crash()
    stand.until(lambda: stand.view["kind"] == "inspect")


def face_is_gone(stand: Stand) -> None:
    stand.face.close()


def told_to_end(stand: Stand) -> None:
    stand.runner.leave("SIGTERM")


@pytest.mark.parametrize("end", [face_is_gone, told_to_end])
def test_when_the_face_is_gone_or_the_process_is_told_to_end_it_stops_and_writes_the_outcome(
    stand: Stand, end: Callable[[Stand], None]
) -> None:
    run_for(stand, 1)
    end(stand)
    stand.until(stand.runner.over)
    assert stand.unit.heard[-1] == STOP and ended(stand) == ("stopped", "confirmed")


@pytest.mark.parametrize("end", [face_is_gone, told_to_end])
def test_an_idle_runner_ends_without_a_word_to_the_vehicle(stand: Stand, end: Callable[[Stand], None]) -> None:
    stand.go_to("armed")
    end(stand)
    stand.until(stand.runner.over)
    assert stand.acts == [] and stand.kinds()[-2:] == ["disarmed", "left"]


def test_a_vehicle_that_begins_to_move_ends_the_run(stand: Stand) -> None:
    run_for(stand, 1)
    stand.unit.table[SPEED] = [(0.02, bytes.fromhex("62700202"))]
    assert ended(stand) == ("stopped", "confirmed")
    assert stand.bodies("outcome")[0].why == "the vehicle moves: 2 km/h"


def test_a_unit_that_goes_silent_while_it_runs_is_stopped_and_unknown(stand: Stand) -> None:
    run_for(stand, 1)
    for request in (SPEED, VOLTAGE, STOP):
        stand.unit.table[request] = []
    assert ended(stand) == ("unknown", "unknown")
    assert stand.bodies("outcome")[0].why == "the control unit no longer answers"


def test_the_cue_is_counted_down_and_is_the_machines_with_its_own_range(stand: Stand) -> None:
    stand.go_to("running", "p2")
    assert [one["cue"] for one in stand.told if "cue" in one] == [3, 2, 1, 0]
    given = next(one for one in stand.journal.of("J1") if one.kind == "step" and one.body.get("on_cue"))
    sent = stand.unit.heard_ns[stand.unit.heard.index(VALVE_START)]
    assert (given.body["nipple"], given.occurred.basis, given.done_by) == ("rl", "cue", "machine:runner")
    assert given.occurred.to_ns - given.occurred.from_ns == 1_000_000_000
    assert given.occurred.from_ns <= sent <= given.occurred.to_ns


def test_a_touch_is_a_range_as_wide_as_the_procedure_says(stand: Stand) -> None:
    stand.go_to("arm")
    opened = next(one for one in stand.journal.of("J1") if one.body.get("act") == "opened")
    assert opened.occurred.to_ns - opened.occurred.from_ns == 2_000_000_000 and opened.occurred.basis == "touch"


def test_with_order_after_the_nipple_is_opened_by_a_key_while_it_runs() -> None:
    stand = Stand(procedure=PROCEDURE.replace('order = "before"', 'order = "after"'))
    try:
        stand.go_to("running")
        assert "rear right" in stand.view["text"] and [one["key"] for one in stand.view["buttons"]] == ["o"]
        stand.press("o")
        assert ended(stand) == ("completed", "confirmed") and stand.state.open_nipples == ("rr",)
        stand.go_to("done")
    finally:
        stand.close()


def test_a_nipple_that_was_not_opened_while_it_ran_makes_the_pass_to_be_decided() -> None:
    stand = Stand(procedure=PROCEDURE.replace('order = "before"', 'order = "after"'))
    try:
        stand.go_to("running")
        ended(stand)
        stand.until(lambda: stand.view["kind"] == "open")
        stand.press("n")
        assert stand.view["kind"] == "decide"
        stand.press("r")
        assert (stand.view["kind"], stand.view["pass_id"]) == ("reading", "p1")
    finally:
        stand.close()


def test_a_nipple_said_to_have_been_open_has_the_whole_run_as_its_range() -> None:
    stand = Stand(procedure=PROCEDURE.replace('order = "before"', 'order = "after"'))
    try:
        stand.go_to("running")
        ended(stand)
        stand.until(lambda: stand.view["kind"] == "open")
        stand.press("y")
        outcome = stand.bodies("outcome")[0]
        opened = next(one for one in stand.journal.of("J1") if one.body.get("act") == "opened")
        assert (opened.occurred.start, opened.occurred.end) == (outcome.from_mono, outcome.to_mono)
        assert stand.view["kind"] == "close"
    finally:
        stand.close()


def test_doing_a_pass_again_shuts_its_nipple_and_reads_the_pressure_first(stand: Stand) -> None:
    run_for(stand, 1)
    stand.stop()
    stand.go_to("decide")
    assert stand.state.open_nipples == ()
    stand.press("r")
    assert (stand.view["kind"], stand.view["what"]) == ("reading", "feed-pressure")
    stand.go_to("done")
    assert [one.result for one in stand.bodies("outcome")] == ["stopped", "completed", "completed"]


def test_a_run_may_be_accepted_with_a_reason(stand: Stand) -> None:
    run_for(stand, 1)
    stand.stop()
    stand.go_to("decide")
    stand.press("k")
    assert stand.errors[-1]["what"] == "said: accept it, and why: words are missing"
    stand.press("k", "it ran clear")
    assert (stand.view["kind"], stand.view["what"]) == ("reading", "torque"), "it is shut already"
    closed = [one for one in stand.bodies("step") if one.act == "closed"]
    stand.go_to("done")
    assert len(closed) == 1 and [one.pass_id for one in stand.bodies("step") if one.act == "opened"] == ["p1", "p2"]


@pytest.mark.parametrize("seconds", [0.0, 0.01, 0.03, 0.5, 3.0, 7.99, 8.01])
def test_whenever_the_runner_dies_the_next_one_asks_for_an_inspection_and_goes_on(stand: Stand, seconds: float) -> None:
    stand.go_to("armed")
    stand.send(do="start", view=stand.view["id"])
    stand.until(lambda: "intent" in stand.kinds())
    stand.wait(seconds)
    assert "outcome" not in stand.kinds()
    stand.crash()
    stand.until(lambda: stand.view["kind"] == "inspect")
    assert stand.kinds().count("interrupted") == 1
    stand.press("3")
    assert stand.view["kind"] == "inspect"
    stand.press("1", by="t-heron")
    assert stand.bodies("inspection")[-1].safe and stand.journal.of("J1")[-1].done_by == "person:t-heron"
    assert stand.view["kind"] == "close"
    stand.go_to("decide")
    stand.press("r")
    stand.go_to("done")


def test_a_runner_that_dies_armed_is_disarmed_by_the_next(stand: Stand) -> None:
    stand.go_to("armed")
    stand.crash()
    stand.until(lambda: stand.view["kind"] == "arm")
    assert stand.bodies("disarmed")[-1].why == "the program ended"


def test_a_reading_outside_its_limits_is_recorded_and_asked_again(stand: Stand) -> None:
    stand.go_to("reading")
    stand.read("1.5", "bar")
    assert stand.bodies("reading")[-1].within is False
    assert (stand.view["kind"], "outside the limits" in stand.view["text"]) == ("reading", True)
    assert "k" not in [one["key"] for one in stand.view.get("buttons", [])]


WHEELS = """
[[steps_after]]
id = "wheels"
text = "Torque the wheels"
act = "read"
what = "wheel-torque"
unit = "N.m"
limit = { low = "170 N.m", high = "190 N.m" }
"""


def test_wheels_read_outside_their_limits_count_again_once_it_is_said_what_was_put_right() -> None:
    stand = Stand(procedure=PROCEDURE + WHEELS)
    while stand.view.get("what") != "wheel-torque":
        stand.follow()
    assert "w" not in [one["key"] for one in stand.view.get("buttons", [])]
    stand.read("150", "N.m")
    assert "say what was put right; then read again, and the later reading counts: only then." in stand.view["text"]
    stand.press("w", "tightened again to its torque")
    said = stand.bodies("step")[-1]
    assert (said.step, said.answer, said.mended) == ("put-right", "wheels", "tightened again to its torque")
    assert "what was put right is recorded, the later reading counts" in stand.view["text"]
    assert [one["key"] for one in stand.view["buttons"]] == ["k"]
    stand.read("160", "N.m")
    assert "w" in [one["key"] for one in stand.view["buttons"]], "what was put right was not enough"
    stand.press("w", "loosened and tightened again")
    stand.read("180", "N.m")
    assert stand.view["kind"] == "done"
    stand.close()


def test_a_pressure_over_the_maximum_is_told_to_stay_open() -> None:
    limit = 'pressure_limit = { low = "1.5 bar", high = "2.4 bar" }\n'
    stand = Stand(procedure=PROCEDURE.replace("invented = true\n", f"invented = true\n{limit}"))
    stand.go_to("reading")
    stand.read("2.3", "bar")
    assert "The later reading counts. Both" in stand.view["text"]
    stand.read("2.5", "bar")
    assert "counts for the pass; that the feed was over its maximum stays open." in stand.view["text"]
    stand.close()


def test_a_torque_outside_its_limits_may_be_kept_with_a_reason(stand: Stand) -> None:
    stand.go_to("close", "p1")
    stand.press("y")
    stand.read("12", "N.m")
    stand.press("k", "read again with another wrench: the same")
    assert stand.view.get("pass_id") == "p2"


def test_a_reading_keeps_the_unit_it_was_entered_in_and_is_compared_with_the_limits(stand: Stand) -> None:
    stand.go_to("reading")
    # 30 psi is about two bar: common practice, no source; 2.068 bar by NIST SP 811.
    stand.read("30", "psi")
    found = stand.bodies("reading")[-1]
    assert (found.amount.value, found.amount.unit, found.within) == ("30", "psi", True)


@pytest.mark.parametrize(
    ("command", "says"),
    [
        ({"do": "reading", "value": "two", "unit": "bar"}, "not a number"),
        ({"do": "reading", "value": "2", "unit": "stone"}, "not known"),
        ({"do": "reading", "value": "30", "unit": "mL"}, "cannot be compared"),
        ({"do": "key", "key": "q"}, "does nothing here"),
        ({"do": "key", "key": 7}, "not text"),
        ({"do": "answers", "answers": {}}, "nothing is asked"),
        ({"do": "start"}, "nothing is armed"),
        ({"do": "fly"}, "nothing a face may ask"),
        ({}, "nothing a face may ask"),
        ({"do": "say", "what": "hello"}, "cannot be said"),
        ({"do": "abandon"}, "without a reason"),
    ],
)
def test_a_command_that_is_wrong_is_refused_with_a_hint_and_changes_nothing(
    stand: Stand, command: dict[str, object], says: str
) -> None:
    stand.go_to("reading")
    count = len(stand.kinds())
    stand.send(view=stand.view["id"], **command)
    stand.until(lambda: stand.errors)
    assert says in stand.errors[-1]["what"] and stand.errors[-1]["hint"] and len(stand.kinds()) == count


@pytest.mark.parametrize("line", [b"{\n", b"[]\n", b'"x"\n', b"\xff\xfe\n", b"{}" * 40_000 + b"\n"])
def test_a_line_that_is_no_object_is_told_and_the_next_one_counts(stand: Stand, line: bytes) -> None:
    stand.face.setblocking(True)
    stand.face.sendall(line + json.dumps({"do": "view"}).encode() + b"\n")
    stand.face.setblocking(False)
    views = len([one for one in stand.told if "view" in one])
    stand.until(lambda: len([one for one in stand.told if "view" in one]) > views)
    assert "cannot be read" in stand.errors[-1]["what"]


def test_another_tester_is_written_once_however_much_it_says(stand: Stand) -> None:
    for _ in range(50):
        stamp = stand.clock.stamp()
        stand.link.events.append(Message(PEER, ALIVE, stamp, stamp))
        stand.turn(1)
    assert [one.what for one in stand.bodies("event")] == ["other tester"]


def test_a_job_can_be_paused_and_gone_on_with(stand: Stand) -> None:
    stand.go_to("armed")
    stand.do(do="pause", why="lunch")
    stand.until(lambda: stand.view["kind"] == "paused")
    assert stand.state.status == "paused" and stand.acts == [] and stand.state.armed is None
    stand.press("r")
    assert (stand.view["kind"], stand.view["nipples"]) == ("close", ["rr"]), "what was left open is shut first"
    stand.go_to("arm")


def test_a_job_can_be_abandoned_with_a_reason(stand: Stand) -> None:
    stand.do(do="abandon", why="another unit is fitted")
    assert (stand.view["kind"], stand.state.status) == ("done", "abandoned")


def test_a_start_answered_too_late_is_kept_and_stopped(stand: Stand) -> None:
    stand.unit.table[START] = [(1.5, bytes.fromhex("71010301"))]
    stand.unit.table[STOP] = []
    stand.go_to("armed")
    stand.press("s")
    stand.wait(2)
    stand.unit.table[STOP] = [(0.02, STOPPED)]
    ended(stand)
    verdicts = [answer.verdict for one in stand.bodies("exchange") if one.purpose == "stop" for answer in one.answers]
    events = [one.what for one in stand.bodies("event")]
    assert "late" in verdicts or "late answer" in events


def test_a_job_whose_link_is_broken_goes_on_by_hand_and_has_nothing_opened_for_what_cannot_be_sent(
    stand: Stand,
) -> None:
    stand.link.broken = True
    stand.wait(0.1)
    stand.go_to("busy", "p1")
    stand.until_known()
    opens = stand.opens
    stand.wait(10)
    assert stand.view["text"].startswith("Nothing is sent: the link is lost. Check plug and cable")
    assert stand.acts == [] and stand.opens == opens, "nobody asks again by itself"
    stand.link.broken = False
    stand.press("r")
    stand.go_to("armed", "p1")


def test_a_face_that_only_listens_any_more_is_told_how_the_run_ended(stand: Stand) -> None:
    run_for(stand, 1)
    stand.face.shutdown(socket.SHUT_WR)
    stand.until(stand.runner.over)
    states = [one["run"]["state"] for one in stand.told if "run" in one]
    assert states[-1] == "stop confirmed"
