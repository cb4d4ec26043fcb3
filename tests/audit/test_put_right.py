"""A reading that was put right at once: the later one counts for what does not change, both are cited."""

from __future__ import annotations

from tests.audit.jobs import Job, edit
from tests.audit.shipped import ask


def ages(*readings: str, between: bool = False) -> Job:
    aged = edit(('fluid = "DOT 4"', 'fluid = "DOT 4"\ncontainer_age = "30 d"'))
    job = Job(aged, scope="nipples rr")
    for at, reading in enumerate(readings, 1):
        job.read("container-age", reading, at * 5, step="container-age")
        if between:
            job.step("filled", at * 5 + 1)
    return job


def test_an_age_that_was_put_right_at_once_is_met_with_a_remark_and_both_cited() -> None:
    finding = ask(3, ages("900 d", "9 d"))
    assert (finding.answer, "entry 1 said 900 d" in finding.text) == ("met", True), finding.text
    assert finding.cites == (1, 2)


def test_an_age_put_wrong_at_once_is_not_met() -> None:
    assert ask(3, ages("9 d", "900 d")).answer == "not met"


def test_an_age_read_again_after_something_was_done_is_not_put_right() -> None:
    assert ask(3, ages("900 d", "9 d", between=True)).answer == "not met"


def test_a_pressure_over_the_maximum_that_was_read_again_at_once_is_not_settled() -> None:
    def job(second: str) -> Job:
        one = Job(scope="nipples rr").read("feed-pressure", "9.5 bar", 5, pass_id="p1", step="pressure")
        return one.read("feed-pressure", second, 10, pass_id="p1", step="pressure")

    finding = ask(13, job("2.0 bar"))
    assert (finding.answer, "a slip, or an excess" in finding.text) == ("no proof", True), finding.text
    assert ask(13, job("9.0 bar")).answer == "not met"
