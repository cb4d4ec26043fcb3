"""Questions 9 and 10, closed in time and one at a time: each of their answers from a small timeline."""

from __future__ import annotations

import pytest
from tests.audit.jobs import TRUCK, Job, clean, edit
from tests.audit.shipped import ask

from witnessmark.procedure.model import Procedure

TOGETHER = edit(('cautions = ["', 'nipples_may_be_open_together = [["rr", "rl"]]\ncautions = ["'))
ONE_VISIT = edit(('nipples = ["rr"]', 'nipples = ["rr", "rl"]'))


def job_of(procedure: Procedure = TRUCK) -> Job:
    return Job(procedure, scope="nipples rr,rl")


def only_rr() -> Job:
    return Job(scope="nipples rr")


def two(*times: float, procedure: Procedure | None = None) -> Job:
    """Return a job with rr open between the first two times and rl between the last two."""
    job = job_of() if procedure is None else job_of(procedure)
    acts = [("rr", "p1", "open", times[0]), ("rr", "p1", "close", times[1])]
    acts += [("rl", "p2", "open", times[2]), ("rl", "p2", "close", times[3])]
    for nipple, pass_id, act, at in sorted(acts, key=lambda one: one[3]):
        job.open(nipple, pass_id, at) if act == "open" else job.close(nipple, at, pass_id)
    return job


def one_visit() -> Job:
    """Return a job whose only planned visit has two nipples, both open at once."""
    job = Job(ONE_VISIT, scope="nipples rr").open("rr", "p1", 10).open("rl", "p1", 11)
    return job.close("rr", 20, "p1").close("rl", 21, "p1")


@pytest.mark.parametrize(
    ("job", "closed", "together"),
    [
        (two(10, 20, 30, 40), "met", "met"),
        (two(10, 30, 20, 40), "not met", "not met"),
        (two(10, 20, 21, 40), "met", "no proof"),
        (two(10, 21, 20, 40), "no proof", "no proof"),
        (two(10, 30, 20, 40, procedure=TOGETHER), "met", "met"),
        (only_rr().open("rr", "p1", 10), "no proof", "no proof"),
        (only_rr().close("rr", 20, "p1"), "no proof", "no proof"),
        (Job().open("rr", "p1", 10).open("rl", "p2", 50).close("rl", 60), "no proof", "no proof"),
        (Job(), "no proof", "no proof"),
        (one_visit(), "met", "met"),
        (only_rr().pressurise(0).open("rr", "p1", 10).depressurise(20).close("rr", 30), "not met", "met"),
        (only_rr().open("rr", "p1", 10).depressurise(29).close("rr", 30), "no proof", "met"),
        (job_of().open("rr", "p1", 10).close("rr", 20, "p1"), "no proof", "no proof"),
        (job_of().open("rr", "p1", 10).open("rl", "p1", 11).close("rr", 20).close("rl", 30), "not met", "not met"),
        (job_of().close("rr", 20, "p1").open("rl", "p2", 30).close("rl", 40), "no proof", "no proof"),
        (job_of().open("rr", "p1", 10).close("rr", 20, "p1").step("", 25, act="skipped", pass_id="p2"), "met", "met"),
        (clean(), "met", "met"),
    ],
    ids=["one after the other", "together", "too near", "too near and the wrong way round", "allowed together",
         "never closed", "never opened", "never closed and another opened", "nothing", "one visit",
         "let off before closed",
         "let off about when closed",
         "one visit without entries",
         "two open at a visit that has one of them", "nobody said when it was opened", "a visit left out", "clean"],
)  # fmt: skip
def test_open_and_closed(job: Job, closed: str, together: str) -> None:
    assert (ask(9, job).answer, ask(10, job).answer) == (closed, together), (ask(9, job), ask(10, job))


def test_how_long_two_were_open_together_is_said() -> None:
    assert "open at once for 8.0 to 12.0 s" in ask(10, two(10, 30, 20, 40)).text


@pytest.mark.parametrize(
    ("shut_at", "text", "detail"),
    [
        (119, ", at the latest 86.0 s after its run (p1)", "closed, 84.0 to 86.0 s"),
        (35, ", at the latest 2.0 s after its run (p1)", "closed"),
        (30, "", "closed"),
    ],
    ids=["long after", "about as it ended", "before"],
)
def test_how_long_a_nipple_stayed_open_after_its_run_is_told_and_not_judged(
    shut_at: float, text: str, detail: str
) -> None:
    found = ask(9, only_rr().pressurise(0).open("rr", "p1", 10).run("p1", 14, 34).close("rr", shut_at, "p1"))
    assert (found.answer, found.text) == ("met", f"every nipple was closed before the next visit{text}")
    assert found.details[0].text.startswith(detail)
    assert "in time" not in found.title


def test_what_a_person_told_of_a_run_is_cited_where_it_is_told_how_long_a_nipple_stayed_open_after_it() -> None:
    job = Job(scope="nipples rr", grade="told").open("rr", "p1", 10).run("p1", 14, 34).close("rr", 119, "p1")
    found = ask(9, job)
    assert "at the latest 87.0 s after its run (p1)" in found.text and {2, 3} <= set(found.cites)
