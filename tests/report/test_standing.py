"""What stands open on the vehicle is on top of every paper, whatever became of the job."""

from __future__ import annotations

import pytest
from tests.audit.jobs import TECHNICIAN, Job, clean, serve
from tests.report.test_facts import of
from tests.report.test_sheet import Page

from witnessmark.job.walk.fold import fold
from witnessmark.job.walk.standing import standing as as_the_bay_says
from witnessmark.journal import bodies
from witnessmark.report.sheet import sheet
from witnessmark.report.statement import statement, tag

OPEN = "Nipple rear right is OPEN: close it."
LEFT = "Nipple rear right was left OPEN when the job was paused: close it."
PRESSURE = "The feed's pressure is on."


def lines(job: Job) -> list[str]:
    return [one["text"] for one in of(job)["standing"]]


def begun() -> Job:
    """Return a job that the bay's own reading of its entries takes as well: the map of these tests is cut short."""
    return Job(protocol_map=None)


def left() -> Job:
    """Return a job with its first nipple open and the pressure on."""
    return begun().pressurise(0).read("feed-pressure", "2.0 bar", 5).open("rr", "p1", 10)


def shut_besides() -> Job:
    """Return the same, its nipple shut by the touch that capped it."""
    job = left()
    body = bodies.StepDone(step="cap", act="done", pass_id="p1", nipple="rr", affects="capped", also=("closed",))
    job.add("step", body, 20, by=TECHNICIAN)
    return job


def paused(job: Job, *states: str, at: float = 40) -> Job:
    """Return the job after it was paused, gone on with, or given up."""
    for number, state in enumerate(states):
        job.add("state", bodies.State(state=state), at + 10 * number)  # type: ignore[arg-type]
    return job


def unknown() -> Job:
    """Return a job with a nipple open and a run of which nobody knows the end."""
    return left().run("p1", 12, 20, result="unknown", stop="unknown", stop_answer="silence")


def looked(job: Job, *, safe: bool | None = None, interrupted: bool = False) -> Job:
    """Return the job with what was found of its run, and what a person saw of it."""
    actuation = next(one.seq for one in job.entries() if one.kind == "intent")
    job = job.interrupted(actuation, 60) if interrupted else job
    return job if safe is None else job.looked(actuation, 70, safe=safe)


JOBS = {
    "nothing": begun(),
    "open": left(),
    "two": left().open("rl", "p2", 20),
    "let off": left().depressurise(30),
    "read empty": left().read("feed-pressure", "0.0 bar", 30),
    "read full": begun().read("feed-pressure", "2.0 bar", 5),
    "shut by a touch of another kind": shut_besides(),
    "skipped": left().step("off", 30, "depressurise", act="skipped"),
    "cued": begun().step("cue-given", 10, pass_id="p1", nipple="rr"),
    "cued and opened": begun().step("cue-given", 10, pass_id="p1", nipple="rr").open("rr", "p1", 11),
    "cued and missed": begun()
    .step("cue-given", 10, pass_id="p1", nipple="rr")
    .step("nipple-missed", 20, act="skipped", nipple="rr"),
    "not written to be closed": left().step("not-written", 20, answer="close", pass_id="p1", nipple="rr"),
    "not written to be opened": begun().step("not-written", 20, answer="open", pass_id="p1", nipple="rr"),
    "not written, and closed later": left()
    .step("not-written", 20, answer="close", pass_id="p1", nipple="rr")
    .close("rr", 30, "p1"),
    "paused": paused(left(), "paused"),
    "paused and gone on with": paused(left().step("grade", 30), "paused", "open"),
    "paused, gone on with and closed": paused(left(), "paused", "open").close("rr", 70, "p1"),
    "paused, gone on with and opened anew": paused(left(), "paused", "open").close("rr", 70, "p1").open("rr", "p1", 80),
    "gone on with after it lay": paused(left(), "open"),
    "gone on with after it lay, then paused": paused(left(), "open", "paused"),
    "gone on with after it lay, closed and opened anew": paused(left(), "open").close("rr", 70).open("rr", "p1", 80),
    "paused, gone on with, and gone on with after it lay": paused(left(), "paused", "open", "open"),
    "paused and given up": paused(left(), "paused", "abandoned"),
    "service mode": begun().step("mode", 5, "service-mode-on"),
    "service mode said not to be on": begun().step("mode", 5, "service-mode-on", act="skipped"),
    "service mode left": begun().step("mode", 5, "service-mode-on").step("mode-off", 10, "service-mode-off"),
    "served": serve(begun().pressurise(0), "p1", 100),
    "a run that ended": left().run("p1", 12, 20),
    "a run without an end": left().run("p1", 12, None),
    "a run of which nobody knows the end": unknown(),
    "one that was interrupted": looked(left().run("p1", 12, None), interrupted=True),
    "one that was looked at and not at rest": looked(unknown(), safe=False),
    "one that was seen at rest": looked(unknown(), safe=True),
    "clean": clean(protocol_map=None),
}


@pytest.mark.parametrize("job", JOBS.values(), ids=JOBS.keys())
def test_a_paper_says_what_the_bay_says(job: Job) -> None:
    assert sorted(lines(job)) == sorted(as_the_bay_says(fold(job.entries())))


@pytest.mark.parametrize(("name", "rests"), [("one that was seen at rest", True), ("one that was interrupted", False)])
def test_no_paper_sends_a_hand_to_a_nipple_before_a_run_was_seen_at_rest(name: str, rests: bool) -> None:
    until = "Nipple rear right is OPEN: do not touch it until it is seen at rest."
    assert (OPEN in lines(JOBS[name]), until in lines(JOBS[name])) == (rests, not rests)


@pytest.mark.parametrize(
    ("name", "how"),
    [
        ("gone on with after it lay", "was left OPEN while the job lay"),
        ("gone on with after it lay, then paused", "was left OPEN when the job was paused"),
        ("gone on with after it lay, closed and opened anew", "is OPEN"),
    ],
)
def test_a_nipple_that_stood_open_in_a_job_that_nobody_paused_was_not_left_so_by_a_pause(name: str, how: str) -> None:
    assert lines(JOBS[name])[0] == f"Nipple rear right {how}: close it."


def test_what_is_told_cites_the_entry_that_says_so() -> None:
    told = of(left())["standing"]
    assert [(one["text"], one["cites"]) for one in told] == [(OPEN, [3]), (PRESSURE, [2])]


@pytest.mark.parametrize("state", ["abandoned", "paused", "finished", "released"])
@pytest.mark.parametrize("paper", [sheet, statement, tag])
def test_it_stands_above_the_state_of_the_job_on_every_paper(paper, state: str) -> None:  # type: ignore[no-untyped-def]
    text = Page(paper(of(left().state(state, 50, why="no parts")))).text
    below = text.index("Released by t-otter" if state == "released" else "NOT RELEASED")
    assert 0 < text.index(LEFT if state == "paused" else OPEN) < text.index(PRESSURE) < below
    shut = Page(paper(of(serve(begun(), "p1", 100).depressurise(200).state(state, 500, why="no parts")))).text
    assert "OPEN: close it" not in shut and PRESSURE not in shut


def test_an_opening_or_a_closing_that_was_corrected_is_open_on_either_reading() -> None:
    """Whoever reads a paper of a vehicle in doubt has to look."""
    job = left().close("rr", 20, "p1")
    closed = job.last()
    assert lines(job) == [PRESSURE]
    job.add("amendment", {"instead": {"nipple": "rl"}, "reason": "the wrong one", "target": closed}, 30, by=TECHNICIAN)
    assert lines(job) == [OPEN, PRESSURE]
    other = left()
    opened = other.last()
    other.add("amendment", {"instead": {"nipple": "rl"}, "reason": "slip", "target": opened}, 30, by=TECHNICIAN)
    assert lines(other) == [OPEN, OPEN.replace("right", "left"), PRESSURE]
