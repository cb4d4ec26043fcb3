"""What becomes wrong after arming, up to the moment the start would leave: it is refused, or it has been stopped."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from tests.job.stand import LEAD, MAP, SESSION, SOFTWARE, SPEED, START, STOP, VALVE_START, Stand
from tests.job.test_known_unit import allow_software

from witnessmark.clock import NS
from witnessmark.job.allowed.approval import approve, withdraw
from witnessmark.journal import bodies
from witnessmark.mapping import load as maps


@pytest.fixture
def armed() -> Iterator[Stand]:
    stand = Stand()
    stand.go_to("armed")
    yield stand
    stand.close()


def start(stand: Stand) -> None:
    stand.send(do="start", view=stand.view["id"])


def test_a_reservoir_said_to_be_empty_while_armed_refuses_the_start(armed: Stand) -> None:
    armed.do(do="say", what="empty", said="")
    armed.until(lambda: armed.view["kind"] == "armed")
    armed.press("s")
    armed.until(lambda: armed.errors)
    armed.wait(1)
    assert armed.errors[-1]["rule"] == "reservoir-empty" and armed.acts == [] and "intent" not in armed.kinds()


def test_a_start_whose_intent_took_longer_than_arming_holds_is_not_sent(armed: Stand) -> None:
    armed.thread.held = True
    start(armed)
    armed.wait(61)
    armed.thread.held = False
    armed.until(lambda: armed.bodies("outcome"))
    armed.wait(1)
    (outcome,) = armed.bodies("outcome")
    assert (outcome.result, outcome.stop) == ("refused", "not sent") and armed.acts == []
    assert armed.bodies("refused")[-1].rule == "armed-too-long"


def test_a_machine_that_slept_while_the_session_was_entered_sends_no_start(armed: Stand) -> None:
    # The answer waits in the interface while the machine sleeps: it is heard before the clock is looked at.
    armed.unit.table[SESSION] = []
    start(armed)
    armed.until(lambda: SESSION in armed.unit.heard)
    stamp = armed.clock.stamp
    armed.clock.stamp = lambda device_ns=None: replace(  # type: ignore[method-assign]
        stamp(device_ns), boot_ns=stamp().mono_ns + 600 * NS
    )
    armed.unit.say(bytes.fromhex("5003003201F4"))
    armed.until(lambda: armed.bodies("outcome"))
    armed.wait(1)
    assert armed.acts == [] and armed.bodies("outcome")[-1].stop == "not sent"
    assert "slept" in armed.bodies("outcome")[-1].why


def test_an_approval_withdrawn_while_counting_down_refuses_the_start() -> None:
    stand = Stand()
    try:
        stand.go_to("armed", "p2")
        before = len(stand.acts)
        start(stand)
        stand.until(lambda: {"cue": 2} in stand.told)
        stand.journal.append(withdraw(LEAD, maps.from_document(MAP), "learned wrongly"))
        stand.until(lambda: len(stand.bodies("outcome")) == 2)
        stand.wait(4)
        assert len(stand.acts) == before and {"cue": 0} not in stand.told
        assert stand.bodies("outcome")[-1].stop == "not sent" and "withdrawn" in stand.bodies("outcome")[-1].why
    finally:
        stand.close()


def test_nobody_is_told_to_open_when_the_start_is_refused_at_the_end_of_the_count() -> None:
    stand = Stand()
    try:
        stand.go_to("armed", "p2")
        start(stand)
        stand.until(lambda: {"cue": 1} in stand.told)
        stand.runner._hearing.bay.talk.other_tester_ns = stand.clock.mono_ns()  # type: ignore[union-attr]
        stand.until(lambda: len(stand.bodies("outcome")) == 2)
        assert {"cue": 0} not in stand.told and VALVE_START not in stand.acts
    finally:
        stand.close()


def test_a_stop_while_the_preconditions_are_read_asks_nothing_more(armed: Stand) -> None:
    armed.press("x")
    armed.until(lambda: armed.view["kind"] == "arm")
    armed.wait(0.1)
    before = len(armed.unit.heard)
    armed.thread.held = True
    armed.send(do="key", view=armed.view["id"], key="a")
    armed.turn(3)
    armed.stop()
    armed.turn(3)
    armed.thread.held = False
    armed.wait(1)
    assert len(armed.unit.heard) == before and armed.kinds().count("armed") == 1


def test_an_intent_without_an_outcome_refuses_the_next_run_when_even_the_interruption_is_not_recorded(
    armed: Stand,
) -> None:
    start(armed)
    armed.until(lambda: START in armed.unit.heard)
    armed.journal.fails = lambda draft: "the disk is full" if draft.kind == "interrupted" else ""
    armed.crash()
    armed.until(lambda: armed.runner.over())
    assert armed.acts == [START]


MOVES = [(0.02, bytes.fromhex("62700205"))]


def refused_at_last(stand: Stand, rule: str) -> bodies.Outcome:
    """Return the outcome of a start that a last look refused, with nothing sent that acts."""
    before = len(stand.acts)
    stand.until(lambda: stand.view["kind"] == ("close" if rule == "identification" else "arm"))
    stand.wait(1)
    assert len(stand.acts) == before and stand.bodies("refused")[-1].rule == rule
    assert stand.errors[-1]["rule"] == rule and stand.errors[-1]["reached"] == "nothing"
    outcome: bodies.Outcome = stand.bodies("outcome")[-1]
    assert (outcome.result, outcome.stop) == ("refused", "not sent")
    return outcome


def test_a_vehicle_that_began_to_move_while_armed_is_sent_no_start(armed: Stand) -> None:
    armed.unit.table[SPEED] = MOVES
    start(armed)
    assert refused_at_last(armed, "moving").why == "the vehicle moves: 5 km/h"
    assert SESSION not in armed.unit.heard


def test_a_unit_that_is_another_since_arming_is_sent_no_start(armed: Stand) -> None:
    armed.unit.table[SOFTWARE] = [(0.02, bytes.fromhex("62F1890103"))]  # the plug now sits in another vehicle
    start(armed)
    assert "another unit" in refused_at_last(armed, "identification").why and SESSION not in armed.unit.heard


def test_a_unit_that_tells_nothing_of_itself_any_more_is_sent_no_start(armed: Stand) -> None:
    armed.unit.table[SOFTWARE] = []
    start(armed)
    refused_at_last(armed, "no-answer")


def test_a_stop_while_it_is_looked_again_sends_no_start(armed: Stand) -> None:
    heard = len(armed.unit.heard)
    start(armed)
    armed.until(lambda: len(armed.unit.heard) > heard)
    armed.stop()
    armed.until(lambda: armed.bodies("outcome"))
    armed.wait(1)
    assert armed.acts == [] and SESSION not in armed.unit.heard
    assert (armed.bodies("outcome")[-1].result, armed.bodies("outcome")[-1].stop) == ("stopped", "not sent")


def test_an_approval_by_name_only_that_came_since_it_was_armed_refuses_the_start(armed: Stand) -> None:
    known = maps.from_document(MAP)
    draft = approve(LEAD, known)
    armed.journal.append(withdraw(LEAD, known, "once more"))
    armed.journal.append(replace(draft, body={**draft.body, "proven": "name only"}))
    armed.press("s")
    armed.until(lambda: armed.view["kind"] != "armed" and armed.errors)
    assert "by name only" in armed.errors[-1]["what"] and "no practice vehicle" in armed.errors[-1]["what"]
    assert armed.acts == [] and armed.bodies("intent") == []


def test_an_approval_for_other_software_that_came_since_it_was_armed_refuses_the_start(armed: Stand) -> None:
    allow_software(armed, "0103")
    armed.press("s")
    armed.until(lambda: armed.view["kind"] == "close")
    assert armed.errors[-1]["rule"] == "not-approved" and "another approval was given" in armed.errors[-1]["what"]
    assert "F189 is 0102, approved was 0103" in armed.view["text"]
    assert armed.acts == [] and armed.bodies("intent") == [] and SESSION not in armed.unit.heard


def test_another_approval_that_comes_as_the_session_is_entered_refuses_the_start(armed: Stand) -> None:
    start(armed)
    armed.until(lambda: SESSION in armed.unit.heard)
    allow_software(armed, "0103")
    armed.until(lambda: armed.bodies("outcome"))
    armed.wait(1)
    assert armed.acts == [] and armed.bodies("outcome")[-1].stop == "not sent"


def test_the_very_approval_given_once_more_while_armed_is_armed_on_anew(armed: Stand) -> None:
    armed.journal.append(approve(LEAD, maps.from_document(MAP)))
    armed.press("s")
    assert "arm again" in armed.errors[-1]["hint"] and armed.acts == []
    armed.arm_again()
    armed.press("s")
    armed.until(lambda: armed.acts)


@pytest.mark.parametrize("again", [False, True])
def test_what_ends_the_leave_to_send_ends_an_arming_that_nobody_starts(armed: Stand, again: bool) -> None:
    if again:
        allow_software(armed, "0103")
    else:
        armed.journal.append(withdraw(LEAD, maps.from_document(MAP), "recalled"))
    armed.until(lambda: armed.view["kind"] == "close", seconds=3)
    assert armed.view["text"].startswith("Nothing is sent: ") and armed.view["nipples"] == ["rr"]
    assert [one["rule"] for one in armed.errors] == ["not-approved"]
    assert len(armed.bodies("disarmed")) == 1 and armed.acts == [] and armed.bodies("intent") == []
    armed.press("y")
    armed.wait(5)
    assert armed.view["kind"] == "busy" and armed.state.open_nipples == () and len(armed.bodies("refused")) == 1


def test_a_unit_that_went_silent_is_looked_for_only_once_the_open_nipple_is_shut(armed: Stand) -> None:
    armed.unit.table[SOFTWARE] = []
    start(armed)
    refused_at_last(armed, "no-answer")
    assert armed.state.open_nipples == ("rr",)
    assert armed.errors[-1]["hint"].startswith("first shut the nipple rear right, then hands off; then look at plug")


def test_an_approval_withdrawn_while_the_session_is_entered_refuses_the_start(armed: Stand) -> None:
    start(armed)
    armed.until(lambda: SESSION in armed.unit.heard)
    armed.journal.append(withdraw(LEAD, maps.from_document(MAP), "learned wrongly"))
    armed.until(lambda: armed.bodies("outcome"))
    armed.wait(1)
    assert armed.acts == [] and "withdrawn" in armed.bodies("outcome")[-1].why


@pytest.fixture
def counting() -> Iterator[Stand]:
    """A stand in the last second of a countdown."""
    stand = Stand()
    stand.go_to("armed", "p2")
    start(stand)
    stand.until(lambda: {"cue": 2} in stand.told)
    yield stand
    stand.close()


def test_a_vehicle_that_begins_to_move_while_counting_down_is_sent_no_start(counting: Stand) -> None:
    counting.unit.table[SPEED] = MOVES
    refused_at_last(counting, "moving")
    assert {"cue": 0} not in counting.told


def test_a_start_waits_for_the_last_look_and_is_not_sent_when_that_is_silent(counting: Stand) -> None:
    counting.unit.table[SPEED] = []
    refused_at_last(counting, "no-answer")
    assert {"cue": 0} not in counting.told


def test_an_approval_withdrawn_in_the_last_second_of_the_count_refuses_the_start(counting: Stand) -> None:
    counting.unit.table[SPEED] = [(0.5, bytes.fromhex("7F2278")), (0.9, bytes.fromhex("62700200"))]
    counting.until(lambda: {"cue": 1} in counting.told)
    counting.wait(0.1)
    before = len(counting.acts)
    counting.journal.append(withdraw(LEAD, maps.from_document(MAP), "learned wrongly"))
    counting.until(lambda: len(counting.bodies("outcome")) == 2)
    counting.wait(2)
    assert len(counting.acts) == before and {"cue": 0} not in counting.told


def test_a_vehicle_that_begins_to_move_as_it_starts_is_noticed_as_soon_as_it_runs(armed: Stand) -> None:
    def starts() -> list[tuple[float, bytes]]:
        armed.unit.table[SPEED] = MOVES
        return [(0.02, bytes.fromhex("71010301"))]

    armed.unit.table[START] = starts
    start(armed)
    armed.until(lambda: STOP in armed.unit.heard)
    at = dict(zip(armed.unit.heard, armed.unit.heard_ns, strict=True))
    assert at[STOP] - at[START] < 0.2 * NS
    armed.until(lambda: armed.bodies("outcome"))
    assert armed.bodies("outcome")[-1].why == "the vehicle moves: 5 km/h"
