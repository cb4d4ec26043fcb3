"""A check that takes some time at least: one that was answered sooner is no proof, and not plausible."""

from __future__ import annotations

from collections.abc import Callable
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
        (held(155), "no proof", "not met", "55.0 s after"),
        (
            held(158.3),
            "no proof",
            "no proof",
            "58.3 s after what was entered before it, 54.3 to 62.3 s as far as",
        ),
        (
            held(159),
            "no proof",
            "no proof",
            "55.0 to 63.0 s as far as the times of both are known; it takes",
        ),
        (held(160), "met", "met", "each step took as long"),
        (held(200, entered=400, basis="typed"), "met", "met", "each step took"),
        (held(161, entered=400, basis="typed"), "no proof", "no proof", "57.0 to 65.0 s after"),
        (held(130, entered=400, basis="typed"), "no proof", "no proof", "26.0 to 34.0 s after"),
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


def shut(scope: str = "nipples fl", extra: str = "") -> Job:
    """Return a job whose last nipple was closed at 100 s."""
    job = Job(edit(("[pump]", PEDAL.replace("[pump]", extra + "[pump]"))), scope=scope, u=2)
    return job.open("fl", "p4", 90).close("fl", 100, "p4")


def test_a_pause_is_no_time_that_a_step_lasted() -> None:
    job = shut().state("paused", 102).state("open", 4000)
    found = ask(31, job.step("pedal", 4002, "pedal-check"))
    assert (found.answer, "2.0 s after" in found.text) == ("not met", True), found
    assert ask(26, job).answer == "no proof"
    assert ask(26, job.step("pedal", 4062, "pedal-check")).answer == "met"


def test_an_interruption_begins_the_step_anew() -> None:
    job = shut("nipples rr,fl").run("p1", 104, None)
    intent = next(one.seq for one in job.entries() if one.kind == "intent")
    found = ask(31, job.interrupted(intent, 4000).step("pedal", 4010, "pedal-check"))
    assert (found.answer, "10.0 s after" in found.text) == ("not met", True), found


def test_a_pause_while_a_card_was_typed_takes_nothing_from_what_the_card_says() -> None:
    job = shut().state("paused", 300).state("open", 400)
    assert ask(31, job.step("pedal", 200, "pedal-check", basis="typed", entered=410)).answer == "met"


@pytest.mark.parametrize(
    "beside",
    [
        lambda job: job.scan("after", [], 160),
        lambda job: job.step("said-note", 150, act="done", said="the phone rang"),
        lambda job: job.step("hands-taken", 150, act="confirmed"),
        lambda job: job.step("witnessed-as", 150, act="confirmed", answer="told"),
        lambda job: job.step("said-note", 100, act="done", said="x", basis="typed", u=9000, entered=150),
    ],
)
def test_what_is_entered_beside_the_walk_begins_no_step(beside: Callable[[Job], Job]) -> None:
    job = beside(shut()).step("pedal", 161, "pedal-check")
    assert (ask(26, job).answer, ask(31, job).answer) == ("met", "met"), ask(31, job)


READ = """[[steps_after]]
id = "press"
text = "Read it after two minutes"
act = "read"
what = "boiling-point"
unit = "degC"
takes_at_least = "2 min"

"""


@pytest.mark.parametrize(("at", "answer"), [(101, "not met"), (217, "not met"), (219, "no proof"), (220, "met")])
def test_a_reading_is_held_to_its_least_time_too_and_one_read_again_is_not_begun_anew(at: float, answer: str) -> None:
    job = shut(extra=READ).read("boiling-point", "250 degC", at, step="press")
    assert ask(31, job).answer == answer
    assert ask(31, job.read("boiling-point", "251 degC", 225, step="press")).answer == answer


@pytest.mark.parametrize(
    ("taken_up", "at", "answer", "text"),
    [
        (None, 4000, "no proof", "no entry says how long after the program was started again; it takes at least"),
        (3990, 4000, "no proof", "10.0 s after the first entry since the program was started again"),
        (3930, 4000, "met", ""),
    ],
)
def test_of_a_step_over_a_bare_restart_only_the_time_since_it_counts(
    taken_up: int | None, at: int, answer: str, text: str
) -> None:
    job = shut().restart()
    if taken_up is not None:
        job.add("note", {"said": "taken up again"}, taken_up)
    job.step("pedal", at, "pedal-check", act="confirmed")
    found = ask(31, job)
    assert (found.answer, text in found.text, ask(26, job).answer) == (answer, True, answer), found
