"""The life of an actuation: the order that the table enforces."""

from __future__ import annotations

import itertools
from typing import get_args

import pytest

from witnessmark.errors import LocalError
from witnessmark.job.sending.actuation import HARMLESS, MAY_HAVE_LEFT, STATES, TABLE, Action, Actuation, Event, State

GOOD: tuple[Event, ...] = (
    "held", "synced", "start", "synced", "ready", "positive", "time_up", "positive",
)  # fmt: skip


def live(*events: Event) -> tuple[Actuation, list[Action]]:
    life = Actuation()
    return life, [action for event in events if (action := life.fire(event))]


def test_a_good_life_arms_records_enters_starts_runs_stops_and_says_so() -> None:
    life, actions = live(*GOOD)
    assert life.state == "ended" and (life.was, life.reason) == ("stopping", "positive")
    assert actions == [
        "record_armed", "write_intent", "enter_session", "send_start", "begin_clock", "send_stop", "write_outcome",
    ]  # fmt: skip


def test_a_start_leaves_only_after_an_intent_was_said_to_be_on_disk() -> None:
    for row in TABLE.items():
        (state, _), (_, action) = row
        if action == "send_start":
            assert state in ("session", "cue")
    into_session = {before for before, after in TABLE.items() if after[0] == "session"}
    assert into_session == {("recording", "synced")}
    into_cue = {before for before, after in TABLE.items() if after[0] == "cue"}
    assert into_cue == {("session", "counting")}


@pytest.mark.parametrize("state", [state for state in STATES if state != "ended"])
def test_stop_is_answered_in_every_state(state: State) -> None:
    assert (state, "stop") in TABLE or (state, "stop") in HARMLESS


@pytest.mark.parametrize("state", sorted(MAY_HAVE_LEFT))
def test_once_a_start_may_have_left_a_stop_sends_the_stop_request(state: State) -> None:
    assert state == "stopping" or TABLE[state, "stop"] == ("stopping", "send_stop")


def test_every_way_out_of_a_life_with_an_intent_writes_an_outcome() -> None:
    with_intent = {"withdrawing", "session", "cue", *MAY_HAVE_LEFT}
    for (state, event), (after, action) in TABLE.items():
        if after == "ended" and state in with_intent and (state, event) != ("withdrawing", "unrecorded"):
            assert action == "write_outcome", (state, event)


def test_no_way_out_without_an_intent_sends_or_writes_an_outcome() -> None:
    for (state, _), (_, action) in TABLE.items():
        if state in ("checking", "arming", "armed"):
            assert action in ("record_armed", "refuse", "disarm", "write_intent", "")


def test_every_state_can_be_reached_and_left() -> None:
    reached = {"checking", *(after for after, _ in TABLE.values())}
    assert reached == set(STATES) == set(get_args(State))


def test_an_event_that_cannot_come_is_a_mistake_of_ours_and_changes_nothing() -> None:
    for state, event in itertools.product((one for one in STATES if one != "ended"), get_args(Event)):
        life = Actuation()
        life.state = state
        if (state, event) in TABLE or (state, event) in HARMLESS:
            life.fire(event)
            continue
        with pytest.raises(LocalError, match=f"{event} while {state}"):
            life.fire(event)
        assert life.state == state


def test_nothing_is_done_after_the_end() -> None:
    life, _ = live(*GOOD)
    assert [life.fire(event) for event in get_args(Event)] == [""] * len(get_args(Event))
