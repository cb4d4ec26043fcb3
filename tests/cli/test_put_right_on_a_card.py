"""A wheel torque or a volume that a card has twice: it can say what was put right between, as a key in the bay does."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.cli.bay import Bay
from tests.cli.test_closed_late import SEPARATE, job_of
from tests.cli.test_empty_card import BEFORE, findings, keyed

TO_THE_WHEELS = [*BEFORE, "10:43", "10:44 8", "10:44", "10:47", "10:48 yes"]
RIGHT = "right 10:51 tightened again to its torque"


@pytest.fixture
def job(bay: Bay, tmp_path: Path) -> str:
    return job_of(bay, tmp_path, SEPARATE)


def test_what_was_put_right_stands_between_two_readings_and_only_the_later_counts(bay: Bay, job: str) -> None:
    said, found = keyed(bay, job, *TO_THE_WHEELS, "10:50 160", RIGHT, "10:52 180", "10:55")
    assert "Write right 10:42 and what was put right, then what was read later" in said and "11 of 11 steps" in said
    first, right, later = found[-4:-1]
    assert (first.body["amount"]["value"], later.body["amount"]["value"]) == ("160", "180")
    assert (right.body["step"], right.body["answer"], right.occurred.basis) == ("put-right", "wheels", "typed")
    answer = findings(bay, job)["refitted"]
    assert answer["answer"] == "met" and "says what was put right: tightened again to its torque" in answer["text"]


def test_without_it_nothing_settles_which_of_two_counts(bay: Bay, job: str) -> None:
    keyed(bay, job, *TO_THE_WHEELS, "10:50 160", "10:52 180", "10:55")
    assert findings(bay, job)["refitted"]["answer"] == "no proof"


@pytest.mark.parametrize(
    ("before", "line", "why"),
    [
        ([], RIGHT, "nothing was read here that could be put right"),
        (["10:50 160"], "right 10:51", "it does not say what was put right"),
        (["10:50 160"], "right tightened", "is no time"),
        (["10:50 160", RIGHT], RIGHT, "nothing was read here that could be put right"),
        (["10:50 180"], RIGHT, "nothing was read here that could be put right"),
    ],
)
def test_it_is_said_once_behind_such_a_reading_and_before_the_next(
    bay: Bay, job: str, before: list[str], line: str, why: str
) -> None:
    output, found = keyed(bay, job, *TO_THE_WHEELS, *before, line)
    assert why in output and "  do: " in output and len(found) == len(TO_THE_WHEELS) + 1 + len(before)
