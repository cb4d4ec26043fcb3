"""A cue is the machine's word, an opening a person's; a visit that gave no fluid contradicts who says it was served."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job
from tests.audit.procedures import edit
from tests.audit.shipped import ask

WITH = edit(('order = "before"', 'order = "with"'), ('order_tolerance = "10 s"', 'order_tolerance = "2 s"'))


def cued(**more: object) -> Job:
    job = Job(WITH, scope="nipples rr")
    for_nipple = {"act": "done", "pass_id": "p1", "nipple": "rr", "on_cue": True}
    return job.step("cue-given", 10, u=0.5, by="machine:runner", basis="cue", **for_nipple).run("p1", 10, 30)


@pytest.mark.parametrize("question", [4, 6, 8])
def test_a_cue_that_nobody_answered_is_no_proof_and_is_cited(question: int) -> None:
    finding = ask(question, cued())
    assert (finding.answer, "cue" in finding.text) == ("no proof", True), finding.text
    assert 1 in finding.cites


def test_a_person_who_says_that_it_was_opened_on_the_cue_gives_the_cues_own_range() -> None:
    job = cued().open("rr", "p1", 10, on_cue=True, u=0.5, basis="cue", entered=31).close("rr", 40, "p1")
    assert [ask(one, job).answer for one in (4, 6, 8)] == ["met", "met", "met"]


def test_a_person_who_says_that_it_was_not_opened_leaves_the_visit_not_met() -> None:
    job = cued().step("nipple-missed", 32, act="skipped", pass_id="p1", nipple="rr")
    for number in (4, 6):
        finding = ask(number, job)
        assert (finding.answer, "not opened while it ran" in finding.text) == ("not met", True), finding.text
        assert 7 in finding.cites and "no entry says" not in finding.text
    assert "entry 7 says that it was not opened" in ask(8, job).text


@pytest.mark.parametrize("number", [4, 6, 7, 8])
def test_one_said_to_be_opened_and_not_opened_in_one_run_is_no_proof_and_names_who_denies_it(number: int) -> None:
    def denied() -> Job:
        return cued().step("nipple-missed", 32, act="skipped", pass_id="p1", nipple="rr")

    finding = ask(number, denied().open("rr", "p1", 20, u=10, entered=33).close("rr", 40, "p1"))
    assert (finding.answer, "entry 7 says that it was not opened" in finding.text) == ("no proof", True), finding.text
    assert 7 in finding.cites
    again = denied().step("run-again", 34, pass_id="p1").open("rr", "p1", 49).run("p1", 50, 70).close("rr", 72, "p1")
    finding = ask(number, again)
    assert finding.answer == "met", finding.text


def test_a_visit_that_collected_nothing_is_no_proof_that_it_was_served() -> None:
    def job(amount: str) -> Job:
        one = cued().open("rr", "p1", 10, on_cue=True, u=0.5, basis="cue").close("rr", 40, "p1")
        return one.read("volume", amount, 50, pass_id="p1", nipple="rr")

    assert ask(4, job("30 mL")).answer == "met"
    finding = ask(4, job("0 mL"))
    assert (finding.answer, "nothing was collected" in finding.text) == ("no proof", True), finding.text
