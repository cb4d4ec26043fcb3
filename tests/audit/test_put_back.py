"""Wheels, refit and checks count from when the vehicle was last made safe: that lifts it and takes its wheels off."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job
from tests.audit.procedures import visited, whole
from tests.audit.shipped import ask

AGAIN = "after the vehicle was last made safe to work on"


def put_back(job: Job, at: float) -> Job:
    job.step("leaks", at, "leak-check").read("wheel-torque", "180 N.m", at + 10, step="wheels")
    return job.step("refit", at + 20, "refitted").step("road", at + 30, "road-test")


def safe(job: Job, at: float, **more: str | float) -> Job:
    return job.step("safe", at, "made-safe", **more)


@pytest.mark.parametrize("number", [26, 34])
def test_what_was_done_before_the_vehicle_was_made_safe_again_is_no_proof(number: int) -> None:
    assert ask(number, put_back(visited(), 200)).answer == "met"
    found = ask(number, safe(put_back(visited(), 200), 300))
    assert found.answer == "no proof" and f"not {AGAIN}" in found.text


@pytest.mark.parametrize("number", [26, 34])
def test_what_was_done_after_it_counts(number: int) -> None:
    job = put_back(safe(put_back(visited(), 200), 300), 400)
    assert ask(number, job).answer == "met"


def test_a_wheel_torque_from_before_it_is_asked_of_no_more() -> None:
    job = visited().read("wheel-torque", "150 N.m", 200, step="wheels")
    assert ask(34, put_back(safe(job, 300), 400)).answer == "met"


@pytest.mark.parametrize("number", [26, 34])
def test_one_that_was_left_out_or_was_before_the_work_changes_nothing(number: int) -> None:
    assert ask(number, safe(put_back(visited(), 200), 300, act="skipped", said="why")).answer == "met"
    assert ask(number, put_back(safe(visited(), 10), 200)).answer == "met"


@pytest.mark.parametrize("number", [26, 34])
def test_one_entered_later_whose_time_settles_nothing_counts_only_where_another_was_before(number: int) -> None:
    """A step that was forgotten is entered afterwards, once: it is the one from before the work."""
    assert ask(number, safe(put_back(visited(), 200), 150, basis="typed", u=1000)).answer == "met"
    twice = put_back(safe(whole(), 10).open("fl", "p4", 100).close("fl", 130, "p4"), 200)
    found = ask(number, safe(twice, 150, basis="typed", u=1000))
    assert found.answer == "no proof" and AGAIN in found.text
