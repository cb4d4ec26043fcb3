"""Which day is on a card is asked where it cannot be today; each value is said back, and what comes after the card."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.cli.bay import Bay, at
from tests.cli.test_card_times import key, opened

from witnessmark.clock import ManualClock

DAY_NS = 86_400 * 10**9
ASKED = "which day is on the card?"


@pytest.fixture
def job(bay: Bay, tmp_path: Path, clock: ManualClock) -> str:
    return opened(bay, tmp_path)


def test_the_day_is_asked_where_the_job_was_last_worked_on_before_today(bay: Bay, job: str, clock: ManualClock) -> None:
    clock.advance(24 * 3600)
    said, made = key(bay, job, "10:40 DOT 4", "2026-03-02", "10:40 DOT 4")
    assert said.count(ASKED) == 2 and "is of 2026-03-02, and today is 2026-03-03" in said, "no line stands for a day"
    assert [one.occurred.from_ns for one in made] == [at("10:40:00")]
    said, made = key(bay, job, "08:41 2.1", on="2026-03-03")
    assert ASKED not in said and made[0].occurred.from_ns == at("08:41:00") + DAY_NS
    assert ASKED not in key(bay, job, "?")[0], "the last that is known is of today"


@pytest.mark.parametrize(("day", "said_then"), [("2026-03-01", "1 of"), ("2026-03-02", "time: 23:10 is still to come")])
def test_the_day_is_asked_at_a_first_time_that_is_still_to_come(
    bay: Bay, job: str, clock: ManualClock, day: str, said_then: str
) -> None:
    said, made = key(bay, job, "23:10 DOT 4", day)
    assert f"23:10 is still to come: {ASKED}" in said and said_then in said
    assert [one.occurred.from_ns for one in made] == ([at("23:10:00") - DAY_NS] if day == "2026-03-01" else [])


def test_a_day_that_was_said_or_has_begun_to_be_keyed_in_is_not_asked(bay: Bay, job: str, clock: ManualClock) -> None:
    clock.advance(6 * 3600)
    said, made = key(bay, job, "10:40 DOT 4", "23:10 2.1")
    assert ASKED not in said and "23:10 is still to come" in said and len(made) == 1
    said, made = key(bay, job, "23:10 2.1", on="2026-03-02")
    assert ASKED not in said and "23:10 is still to come" in said and not made


def test_each_value_is_said_back_as_it_was_taken(bay: Bay, job: str, clock: ManualClock) -> None:
    clock.advance(6 * 3600)
    said, _ = key(
        bay, job, "10:40 DOT 4", "at 10:41 29 psi", "filled at 10:42 with 200", "10:43", "from 10:44 to 10:45"
    )
    assert "taken as feed pressure: 29 psi" in said and "taken as volume in, p1: 200 mL" in said
    assert said.count("taken as") == 2 and "4 of 6 steps" in said
    assert f"next: witnessmark job enter {job} for the rest of the card; witnessmark job run {job}, where [f]" in said
    said, _ = key(bay, job, "?", "?")
    assert f"next: witnessmark job run {job}, where [f] finishes the job" in said
