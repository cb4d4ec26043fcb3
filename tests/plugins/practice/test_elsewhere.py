"""What is said of a run that another tester was asked to make: never that it runs when it was refused."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.plugins.practice.bay import Bay

from witnessmark_practice.elsewhere import ASKED, LOOKS, came_of


def said(bay: Bay) -> str:
    assert bay.do("elsewhere", "pump-rear", "4 s") == ASKED
    return came_of(lambda: bay.do("read", "tester"), lambda: bay.wait(0.1))


def test_a_run_that_is_taken_is_said_to_run_with_what_was_answered() -> None:
    bay = Bay()
    bay.ready()
    assert said(bay) == "running: answered 7F3178 7101732001"


def test_a_run_that_is_refused_is_said_to_be_refused_and_why() -> None:
    bay = Bay()
    bay.ready()
    bay.do("roll")
    assert said(bay) == "refused: 7F3188 (vehicleSpeedTooHigh)"


@pytest.mark.parametrize("answer", ["no answer", "7F3178"])
def test_a_start_that_is_not_answered_may_run(answer: str) -> None:
    looks: Iterator[int] = iter(range(LOOKS))
    assert came_of(lambda: answer, lambda: next(looks)) == "asked, and no answer to its start: it may run"
    assert next(looks, None) is None
