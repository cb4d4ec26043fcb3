"""A run that nobody saw end had ended by the earliest entry that shows it, and every question says so alike."""

from __future__ import annotations

import pytest
from tests.audit.jobs import NS, WALL, Job
from tests.audit.shipped import ask

from witnessmark.audit.ends import allowed, spell, unseen
from witnessmark.audit.session import s3_ns, says_seconds
from witnessmark.audit.timeline import Actuation
from witnessmark.range import FOREVER


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


def lost(end: float = 18, **more: object) -> Job:
    """Return a job whose first run (entry 1) started at 10 s and gave its last sign of life at `end`."""
    return Job(**more).run("p1", 10, end, result="unknown", stop="unknown", stop_answer="silence")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("job", "at", "said"),
    [
        (lost().looked(1, 20), 23, 21),
        (lost().looked(1, 22), 23, None),
        (lost().looked(1, 40), 41, None),
        (lost().stop_again(1, 21).looked(1, 19), 21, None),
        (lost().stop_again(1, 22, "silence").looked(1, 20), 26.98, 21),
        (lost().stop_again(1, 30, "silence").looked(1, 20), 23, 21),
        (lost().looked(1, 20).looked(1, 90), 23, 21),
        (Job(grade="told").run("p1", 10, 18, result="unknown").looked(1, 12), 13, None),
    ],
    ids=["sooner than S3", "as late", "later", "a stop was confirmed sooner", "the session showed life again",
         "too late to show life", "looked twice", "told"],
)  # fmt: skip
def test_a_persons_word_bounds_an_end_no_sooner_than_the_wire_allows(job: Job, at: float, said: int | None) -> None:
    run = first(job)
    assert run.ran is not None and run.latest is not None
    assert (run.ran.end.high, run.latest.at) == (WALL + round(at * NS), WALL + round(at * NS))
    assert run.latest.said == (None if said is None else WALL + said * NS)


def test_where_the_wire_allows_longer_it_is_told_whose_word_it_is_that_it_was_at_rest() -> None:
    job = lost().looked(1, 20)
    word = "as t-otter says it was at rest 11.0 s after its start (entry 6); the wire's own timing allows 13.0 s"
    assert spell(first(job)) == f"nobody saw it end; it ran at least 8.0 s; {word}"
    for number in (16, 20):
        assert word in next(one for one in ask(number, job).details if one.subject == "p1").text
    assert "t-otter" not in spell(first(lost().looked(1, 40)))


def test_a_control_unit_that_is_told_for_how_long_may_run_that_long() -> None:
    run = first(lost())
    assert run.ran is not None
    start, s3 = run.ran.start.high, 5 * NS
    assert [allowed(run, [], s3, told * NS) - start for told in (0, 12, 20)] == [13 * NS, 13 * NS, 20 * NS]
    assert allowed(run, [start + 20 * NS, start + 12 * NS], s3, 0) - start == 17 * NS


@pytest.mark.parametrize(
    ("commands", "says"),
    [
        ([{"id": "pump", "start": "310103{seconds}"}], True),
        ([{"id": "pump", "start": "310103"}], False),
        ([{"id": "valve", "start": "310103{seconds}"}], False),
        ([7, {"start": None}], False),
        (7, False),
    ],
)
def test_whether_a_start_says_for_how_long_is_read_off_the_map_as_far_as_it_can_be(
    commands: object, says: bool
) -> None:
    assert says_seconds({"wire_commands": commands}, "pump") is says
    assert s3_ns({"wire_commands": commands, "timing": {"s3_ms": "soon"}}) == s3_ns(None) == 5 * NS
