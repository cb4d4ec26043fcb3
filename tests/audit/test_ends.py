"""A run that nobody saw end had ended by the earliest entry that shows it, and every question says so alike."""

from __future__ import annotations

import pytest
from tests.audit.jobs import NS, WALL, Job
from tests.audit.shipped import ask

from witnessmark.audit.ends import spell, unseen
from witnessmark.audit.range import FOREVER
from witnessmark.audit.timeline import Actuation


def killed(**more: object) -> Job:
    """Return a job whose first run (entry 1) started at 10 s and was found without an outcome at 60 s."""
    return Job(**more).run("p1", 10, None, outcome=False).interrupted(1, 60)  # type: ignore[arg-type]


def first(job: Job) -> Actuation:
    return job.case().timeline.actuations[0]


@pytest.mark.parametrize(
    ("job", "how", "by"),
    [
        (killed().stop_again(1, 70).looked(1, 90), "stop", 70),
        (killed().stop_again(1, 70, "silence").looked(1, 90), "looked", 91),
        (killed().looked(1, 90).run("p2", 200, 220), "looked", 91),
        (killed().looked(1, 90, safe=False).run("p2", 200, 220), "next", 200),
        (killed(grade="told").looked(1, 90), "looked", 91),
    ],
)
def test_the_earliest_entry_that_shows_it_bounds_the_end(job: Job, how: str, by: int) -> None:
    run = first(job)
    assert run.latest is not None and (run.latest.how, run.latest.at) == (how, WALL + by * NS)
    assert run.ran is not None and run.ran.end.high == WALL + by * NS
    assert run.latest.seq in run.cites


@pytest.mark.parametrize(
    "job",
    [
        killed(),
        killed().looked(1, 90, safe=False),
        killed().run("p2", 200, None, answer="negative", code="22"),
        Job().run("p1", 10, None, outcome=False).run("p2", 200, 220),
    ],
)
def test_an_end_that_no_entry_shows_stays_open(job: Job) -> None:
    run = first(job)
    assert run.ran is not None and run.ran.end.high == FOREVER and run.latest is None and unseen(run)
    assert "no entry says by when" in spell(run)


def test_an_unknown_outcome_is_bounded_as_well_and_its_last_sign_of_life_stays_the_least() -> None:
    job = Job().run("p1", 10, 18, result="unknown", stop="unknown", stop_answer="silence")
    run = first(job.looked(1, 40))
    assert run.ran is not None and (run.ran.end.low, run.ran.end.high) == (WALL + 18 * NS, WALL + 41 * NS)
    assert "at least 8.0 s, at the latest until entry 6" in spell(run) and "31.0 s after its start" in spell(run)


def test_a_run_that_was_seen_to_end_has_nothing_to_spell() -> None:
    run = first(Job().run("p1", 10, 30).looked(1, 40))
    assert (spell(run), run.latest, unseen(run)) == ("", None, False)


def test_a_nipple_opened_after_it_was_found_at_rest_was_not_open_in_it() -> None:
    job = killed(u=0.1).looked(1, 90).open("rr", "p1", 100).run("p1", 104, 124).close("rr", 130)
    job.open("rl", "p2", 200).close("rl", 230).open("rl", "p2", 240).close("rl", 250)
    found = ask(7, job)
    assert "rear left" not in found.text + "".join(one.text for one in found.details), found


def test_a_nipple_opened_twice_is_named_once() -> None:
    job = killed(u=0.1)
    job.open("rl", "p2", 200).close("rl", 230).open("rl", "p2", 240).close("rl", 250)
    (said,) = {one.text for one in ask(7, job).details if "may have been open" in one.text}
    assert said.count("rear left") == 1


def test_questions_agree_on_an_interrupted_run() -> None:
    job = killed().stop_again(1, 25).looked(1, 90)
    held = next(one for one in ask(20, job).details if one.subject == "p1")
    assert "when the control unit confirmed a stop, 15.0 s after its start" in held.text
    assert next(one for one in ask(17, job).details if one.subject == "p1").text.startswith("ran 0.0 to 15.0 s;")
    assert (
        "0.0 to 15.0 s and nobody saw it end" in next(one for one in ask(16, job).details if one.subject == "p1").text
    )
