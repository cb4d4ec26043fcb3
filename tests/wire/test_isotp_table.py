"""The transition table, and the picture drawn from it."""

from __future__ import annotations

import re
from typing import get_args

import pytest

from witnessmark.wire.isotp import diagram
from witnessmark.wire.isotp.indication import Reason, Role
from witnessmark.wire.isotp.table import IDLE, TABLE


@pytest.mark.parametrize("role", get_args(Role))
def test_the_diagram_has_one_arrow_for_each_row(role: Role) -> None:
    rows = [row for row in TABLE if row.role == role]
    arrows = re.findall(r"^    (\w+) --> (\w+) : (\S+) /", diagram(role), re.MULTILINE)
    assert arrows == [(spell(row.state), spell(row.then), row.event) for row in rows]
    assert diagram(role).startswith("stateDiagram-v2\n    [*] --> Idle\n")


def spell(state: str) -> str:
    return "".join(word.capitalize() for word in state.split())


def test_no_state_and_event_has_two_rows() -> None:
    seen = [(row.role, row.state, row.event) for row in TABLE]
    assert len(seen) == len(set(seen))


@pytest.mark.parametrize("role", get_args(Role))
def test_every_state_is_reached_from_idle_and_leads_back(role: Role) -> None:
    rows = [row for row in TABLE if row.role == role]
    states = {row.state for row in rows}
    assert reach(IDLE, [(row.state, row.then) for row in rows]) == states
    for state in states:
        assert IDLE in reach(state, [(row.state, row.then) for row in rows])


def reach(start: str, edges: list[tuple[str, str]]) -> set[str]:
    found = {start}
    while more := {then for state, then in edges if state in found} - found:
        found |= more
    return found


def test_every_row_that_fails_names_a_declared_reason_and_every_reason_is_used() -> None:
    failing = {row.reason for row in TABLE if {"fail", "refuse"} & set(row.actions)}
    assert failing == set(get_args(Reason))
    assert all(row.reason for row in TABLE if "ignore" in row.actions)


def test_a_reset_ends_every_state_but_idle() -> None:
    resets = {(row.role, row.state) for row in TABLE if row.event == "reset"}
    assert resets == {(row.role, row.state) for row in TABLE if row.state != IDLE}
    assert all(row.then == IDLE for row in TABLE if row.event == "reset")
