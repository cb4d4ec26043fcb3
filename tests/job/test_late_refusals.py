"""What becomes wrong after arming, up to the moment the start would leave: it is refused, or it has been stopped."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from tests.job.stand import LEAD, MAP, SESSION, SPEED, START, STOP, VALVE_START, Stand

from witnessmark.clock import NS
from witnessmark.job.approval import withdraw
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


def test_a_vehicle_that_began_to_move_while_armed_is_noticed_as_soon_as_it_runs(armed: Stand) -> None:
    armed.unit.table[SPEED] = [(0.02, bytes.fromhex("62700205"))]
    start(armed)
    armed.until(lambda: STOP in armed.unit.heard)
    at = dict(zip(armed.unit.heard, armed.unit.heard_ns, strict=True))
    assert at[STOP] - at[START] < 0.2 * NS
    armed.until(lambda: armed.bodies("outcome"))
    assert armed.bodies("outcome")[-1].why == "the vehicle moves: 5 km/h"
