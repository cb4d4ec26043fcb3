"""Question 7, the right nipple for the wire command: each of its answers from a small timeline."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job, clean, edit
from tests.audit.shipped import ask

TOGETHER = edit(('cautions = ["', 'nipples_may_be_open_together = [["rr", "rl"]]\ncautions = ["'))


def job() -> Job:
    return Job(scope="nipples rr")


def both() -> Job:
    """Return a job whose visit has two nipples, one of them open during the run."""
    procedure = edit(('nipples = ["rr"]', 'nipples = ["rr", "rl"]'))
    return Job(procedure, scope="nipples rr").open("rr", "p1", 8).run("p1", 10, 30).close("rr", 35)


def another(kind: str, **changed: object) -> Job:
    """Return a visit as it should be, with its intent or its start saying something else."""
    one = job().open("rr", "p1", 8).run("p1", 10, 30).close("rr", 35)
    next(entry for entry in one.entries() if entry.kind == kind).body.update(changed)
    return one


@pytest.mark.parametrize(
    ("job", "answer", "text"),
    [
        (job().open("rr", "p1", 8).run("p1", 10, 30).close("rr", 35), "met", "own nipple"),
        (job().open("rl", "p2", 8).run("p1", 10, 30).close("rl", 35), "not met", "rear left was open"),
        (
            job().open("rr", "p1", 8).open("rl", "p2", 8).run("p1", 10, 30).close("rl", 35).close("rr", 36),
            "not met",
            "rear left was open",
        ),
        (job().open("rr", "p1", 8).run("p1", 10, 30).close("rr", 35).open("rl", "p2", 30.5), "no proof", "may have"),
        (
            job().open("rl", "p2", 1).close("rl", 9.5).open("rr", "p1", 8).run("p1", 10, 30).close("rr", 35),
            "no proof",
            "may have",
        ),
        (job().open("rr", "p1", 8).run("p1", 10, 30, wire_command="valve").close("rr", 35), "not met", "asks for pump"),
        (job().run("p1", 10, 30), "no proof", "any nipple"),
        (job().open("rr", "p1", 0).close("rr", 5, "p1").run("p1", 10, 30), "no proof", "shut again before"),
        (job().open("rr", "p1", 5).close("rr", 9.8).run("p1", 10, 30), "no proof", "no entry opens it after that"),
        (
            job().open("rr", "p1", 0).close("rr", 5, "p1").run("p1", 10, 30)
            .step("nipple-missed", 40, act="skipped", pass_id="p1", nipple="rr"),
            "no proof",
            "says that it was not opened while it ran",
        ),
        (
            job().open("rr", "p1", 0).close("rr", 5, "p1").run("p1", 10, 30)
            .open("rr", "p1", 20, u=10, basis="typed", entered=40).close("rr", 42),
            "met",
            "own nipple",
        ),
        (job().open("rr", "p1", 30.5).run("p1", 10, 30).close("rr", 35), "no proof", "open or shut"),
        (job().open("rr", "p1", 8), "no proof", "no entry of a run"),
        (job().open("rr", "p1", 8).run("p1", 10, None, answer="silence"), "no proof", "nothing says"),
        (job().open("rr", "p1", 8).run("p1", 10, None, answer="negative", code="22"), "no proof", "never ran"),
        # A run that was done again counts no more: of it only another nipple that was open is told.
        (job().run("p1", 10, 15, result="stopped").open("rr", "p1", 50).run("p1", 52, 72).close("rr", 75), "met", ""),
        (
            job().open("rl", "p2", 8).run("p1", 10, 15, result="stopped").close("rl", 20)
            .open("rr", "p1", 50).run("p1", 52, 72).close("rr", 75),
            "not met",
            "rear left was open",
        ),
        (
            Job(TOGETHER, scope="nipples rr").open("rr", "p1", 8).open("rl", "p2", 8)
            .run("p1", 10, 30).close("rl", 35).close("rr", 36),
            "met",
            "own nipple",
        ),
        (both(), "no proof", "rear left may have been open or shut"),
        (both().open("rl", "p1", 9), "no proof", "rear left may have been"),
        (another("intent", nipples=["fl"]), "not met", "was started for front left"),
        (another("intent", nipples=["fl"], grade="heard"), "met", "own nipple"),
        (another("exchange", request="31010302"), "not met", "not what the map says"),
        (Job(scope="nipples fl"), "does not apply", "no pass"),
        (clean(), "met", "no other nipple"),
    ],
    ids=[
        "own", "another", "own and another", "another opened at the end", "another closed at the start",
        "another wire command", "none", "shut again", "shut again just before", "shut again and said so",
        "shut again and opened some time in the run", "maybe its own", "no run", "silence", "refused",
        "done again", "wrong, then done again", "may be together",
        "one of two", "one of two in time", "started for another", "tied to another by hand",
        "other bytes", "no wire command", "clean",
    ],
)  # fmt: skip
def test_right_nipple(job: Job, answer: str, text: str) -> None:
    finding = ask(7, job)
    shown = finding.text + "".join(one.text for one in finding.details)
    assert (finding.answer, text in shown) == (answer, True), finding


@pytest.mark.parametrize("grade", ["sent", "heard", "told"])
@pytest.mark.parametrize("first", ["stopped", "unknown"])
def test_a_pass_done_again_is_judged_by_the_run_that_the_open_nipple_is_judged_by(grade: str, first: str) -> None:
    stop = {"stop": "unknown", "stop_answer": "silence"} if first == "unknown" else {}
    job = Job(scope="nipples rr", grade=grade)  # type: ignore[arg-type]
    job.run("p1", 10, 15, result=first, **stop).looked(1, 20)  # type: ignore[arg-type]
    job.open("rr", "p1", 50).run("p1", 52, 72).close("rr", 76)
    open_while_run, right = ask(6, job), ask(7, job)
    assert (open_while_run.answer, right.answer) == ("met", "met"), (open_while_run, right)
