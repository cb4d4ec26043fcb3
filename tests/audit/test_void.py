"""A visit that is to be done again is void until it was: what rests on it is not met, and what is wrong stays so."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job, clean, edit
from tests.audit.procedures import complete
from tests.audit.shipped import QUESTIONS, ask
from tests.audit.test_absence import FINDINGS, Intact

from witnessmark.audit.run import audit
from witnessmark.audit.verdict import ORDER, Finding

AGAIN = 905
"""When a pass is said to be done again in a job that is else complete."""
NOT_OF_THE_PASSES = {1, 2, 3, 24, 28, 29, 30, 31, 32, 37}
"""Questions that ask about the vehicle, what was poured, how the feed came off, and the record."""
OF_ITS_START = {12}
"""How far the feed fell is told at the later reading of two, so nothing of it is of the first pass."""
OF_A_RUN = {6, 7, 8, 16, 17, 18, 19, 20, 21, 22}


def found(job: Job) -> dict[int, Finding]:
    return {one.number: one for one in audit(job.entries(), list(QUESTIONS.values()), integrity=Intact()).findings}


def again(pass_id: str, step: str = "run-again") -> dict[int, Finding]:
    return found(complete((AGAIN, lambda job, at: job.step(step, at, pass_id=pass_id))))


@pytest.mark.parametrize("pass_id", ["p1", "p2", "p3", "p4"])
def test_a_pass_to_be_done_again_leaves_no_question_more_positive_and_none_met_that_speaks_of_its_visit(
    pass_id: str,
) -> None:
    after = again(pass_id)
    spared = NOT_OF_THE_PASSES | {"p1": OF_ITS_START, "p4": OF_A_RUN}.get(pass_id, set())
    assert {number for number, one in after.items() if one.answer == "met"} == spared
    for number, one in after.items():
        assert ORDER.index(one.answer) <= ORDER.index(FINDINGS[number].answer), one
        if number not in spared:
            assert (one.answer, f"{pass_id} is to be done again (entry 77)" in one.text) == ("no proof", True), one
            assert 77 in one.cites
            mine = [part for part in one.details if part.subject.split(",")[0] == pass_id]
            assert "met" not in {part.answer for part in mine}, mine


def test_after_air_was_drawn_every_pass_that_was_begun_is_void() -> None:
    after = again("", "passes-again")
    assert {number for number, one in after.items() if one.answer == "met"} == NOT_OF_THE_PASSES
    assert all(f"{one} is to be done again" in after[4].text for one in ("p1", "p2", "p3", "p4"))


def test_one_that_was_taken_back_and_nothing_else_is_as_it_was() -> None:
    assert (
        found(complete((AGAIN, lambda job, at: job.step("run-again", at, act="skipped", pass_id="p1"))))[4]
        == (FINDINGS[4])
    )


def visited(job: Job, at: float, amount: str = "2.0 bar", lasts: float = 20) -> Job:
    job.read("feed-pressure", amount, at - 5, pass_id="p1").open("rr", "p1", at).run("p1", at + 4, at + 4 + lasts)
    return job.close("rr", at + lasts + 10, "p1")


@pytest.mark.parametrize(
    ("number", "text", "first"),
    [
        (16, "ran 5.0 s", lambda job: visited(job, 10, lasts=5)),
        (11, "3.0 bar", lambda job: visited(job, 10, "3.0 bar")),
        (13, "3.0 bar", lambda job: visited(job, 10, "3.0 bar")),
        (9, "let off", lambda job: job.open("rr", "p1", 10).run("p1", 14, 34).depressurise(36).close("rr", 40, "p1")),
    ],
)
def test_what_stands_against_the_job_stays_so(number: int, text: str, first: object) -> None:
    job = first(Job(scope="nipples rr"))  # type: ignore[operator]
    before = ask(number, job)
    assert (before.answer, text in before.text) == ("not met", True), before
    after = ask(number, job.step("run-again", 50, pass_id="p1").state("abandoned", 60))
    assert (after.answer, after.text) == ("not met", before.text)


ASKED = (4, 6, 9, 11, 16, 35)


def test_a_repetition_is_judged_as_the_visit_and_what_was_cut_short_is_none() -> None:
    job = visited(Job(scope="nipples rr").pressurise(0), 10).step("run-again", 50, pass_id="p1")
    assert {ask(number, job).answer for number in ASKED} == {"no proof"}
    job.open("rr", "p1", 60).close("rr", 70, "p1")
    assert {ask(number, job).answer for number in ASKED} == {"no proof"}
    visited(job, 100, lasts=5)
    assert {number: ask(number, job).answer for number in ASKED} == dict.fromkeys(ASKED, "met") | {
        16: "not met", 11: "no proof",
    }  # fmt: skip


def test_a_run_that_was_not_completed_after_that_counts_before_one_that_was_completed_before() -> None:
    job = visited(Job(scope="nipples rr"), 10).step("run-again", 50, pass_id="p1").open("rr", "p1", 60)
    job.run("p1", 64, 69, result="stopped").close("rr", 80, "p1")
    finding = ask(16, job)
    assert (finding.answer, "ran 5.0 s" in finding.text) == ("not met", True), finding


def test_a_refused_run_is_no_repetition() -> None:
    job = visited(Job(scope="nipples rr"), 10).step("run-again", 50, pass_id="p1")
    job.open("rr", "p1", 60).run("p1", 64, None, answer="negative", code="22").close("rr", 70, "p1")
    assert (ask(4, job).answer, ask(16, job).answer) == ("no proof", "not met")


def test_a_nipple_that_stayed_open_for_it_need_not_be_opened_once_more() -> None:
    job = Job(scope="nipples rr").open("rr", "p1", 10).run("p1", 14, None, answer="negative", code="22")
    job.step("run-again", 20, pass_id="p1").run("p1", 24, 44).close("rr", 50, "p1")
    assert {ask(number, job).answer for number in (4, 6, 9, 16)} == {"met"}


def test_a_pass_by_hand_of_two_nipples_is_done_again_once_both_were_opened() -> None:
    two = edit(('nipples = ["fl"]', 'nipples = ["fl", "rr"]'))
    job = Job(two, scope="follows J0 p4")

    def both(at: float, *names: str) -> Job:
        for nipple in names:
            job.open(nipple, "p4", at).close(nipple, at + 30, "p4")
        return job

    both(10, "fl", "rr").step("run-again", 50, pass_id="p4")
    assert ask(4, both(60, "fl")).answer == "no proof"
    assert ask(4, both(100, "rr")).answer == "met"


def test_the_order_goes_by_what_was_done_again() -> None:
    assert ask(5, clean().step("run-again", 700, pass_id="p4").open("fl", "p4", 710).close("fl", 740, "p4")).answer == (
        "met"
    )
    found = ask(5, clean().step("run-again", 700, pass_id="p1").open("rr", "p1", 710).run("p1", 714, 734))
    assert (found.answer, "done again (p1, entry 31)" in found.text, "p2 was opened before p1" in found.text) == (
        "no proof", True, True,
    ), found  # fmt: skip


def test_a_part_of_another_pass_stands_that_cites_a_reading_of_the_one_to_be_done_again() -> None:
    job = clean().step("run-again", 700, pass_id="p2").state("abandoned", 710)
    found = ask(11, job)
    fallen = [one.subject for one in found.details if one.answer != "met"]
    reading = next(entry.seq for entry in job.entries() if entry.body.get("pass_id") == "p2")
    assert (fallen, found.answer) == (["p2, rear left"], "no proof"), found
    assert reading in next(one.cites for one in found.details if one.subject == "p1, rear right")
