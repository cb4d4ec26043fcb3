"""A check that takes some time at least: one that was answered sooner is no proof, and not plausible."""

from __future__ import annotations

from typing import Any

import pytest
from tests.audit.jobs import Job, edit
from tests.audit.shipped import ask

PEDAL = """[[steps_after]]
id = "pedal"
text = "Hold the pedal"
act = "check"
affects = "pedal-pumped"
also = ["pedal-check"]
takes_at_least = "1 min"

[pump]"""


def held(at: float, **more: Any) -> Job:
    """Return a job whose pedal was said to hold at this second, with the nipple closed at 100 s."""
    job = Job(edit(("[pump]", PEDAL)), scope="nipples fl", u=2).open("fl", "p4", 90).close("fl", 100, "p4")
    return job.step("pedal", at, "pedal-check", act="confirmed", **more)


@pytest.mark.parametrize(
    ("job", "check", "plausible", "text"),
    [
        (held(101), "no proof", "not met", "1.0 s after what was entered before it; it takes at least 1 min"),
        (held(159), "no proof", "not met", "59.0 s after"),
        (held(160), "met", "met", "each step took as long"),
        (held(200, entered=400, basis="typed"), "met", "met", "each step took"),
        (held(161, entered=400, basis="typed"), "no proof", "no proof", "57.0 to 65.0 s after"),
        (held(130, entered=400, basis="typed"), "no proof", "not met", "26.0 to 34.0 s after"),
    ],
)
def test_a_step_is_held_to_the_least_time_that_it_takes(job: Job, check: str, plausible: str, text: str) -> None:
    assert (ask(26, job).answer, ask(31, job).answer) == (check, plausible), (ask(26, job), ask(31, job))
    assert text in ask(31, job).text


def test_the_time_counts_from_a_no_and_from_anything_else_that_was_entered_since() -> None:
    job = Job(edit(("[pump]", PEDAL)), scope="nipples fl").open("fl", "p4", 10).close("fl", 20, "p4")
    job.step("pedal", 100, act="skipped", said="soft", looked=True)
    job.step("mended", 150, act="confirmed", answer="bled again").step("pedal", 170, "pedal-check", act="confirmed")
    found = ask(31, job)
    assert (found.answer, "20.0 s after" in found.text) == ("not met", True), found


def test_one_that_was_held_long_enough_when_it_was_done_again_is_proof_and_the_first_stays_implausible() -> None:
    job = held(101).step("pedal", 200, "pedal-check", act="confirmed")
    assert (ask(26, job).answer, ask(31, job).answer) == ("met", "not met")


def test_a_job_with_moves_and_steps_that_took_their_time_is_met() -> None:
    job = Job(edit(("[pump]", PEDAL)), scope="nipples rr,fl").open("rr", "p1", 10).close("rr", 20, "p1")
    job.open("fl", "p4", 60).close("fl", 80, "p4").step("pedal", 145, "pedal-check", act="confirmed")
    found = ask(31, job)
    assert (found.answer, "each step took as long as it takes at least" in found.text) == ("met", True), found
