"""Question 8, opened before, with or after the run: each of its answers from a small timeline."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job, clean, edit
from tests.audit.shipped import ask

from witnessmark.procedure.model import Procedure

BEFORE = edit()
WITH = edit(('order = "before"', 'order = "with"'), ('order_tolerance = "10 s"', 'order_tolerance = "2 s"'))
AFTER = edit(('order = "before"', 'order = "after"'), ('order_tolerance = "10 s"', 'order_tolerance = "5 s"'))


@pytest.mark.parametrize(
    ("procedure", "opened", "u", "answer", "text"),
    [
        (BEFORE, 5, 1, "met", "4.0 to 6.0 s before"),
        (BEFORE, 9, 1, "met", "0.0 to 2.0 s before"),
        (BEFORE, 9.5, 1, "no proof", "from 1.5 s before to 0.5 s after"),
        (BEFORE, 14, 1, "not met", "3.0 to 5.0 s after"),
        (BEFORE, -0.5, 1, "no proof", "before"),
        (BEFORE, -4, 1, "not met", "13.0 to 15.0 s before"),
        (WITH, 10, 1, "met", "from 1.0 s before to 1.0 s after"),
        (WITH, 12, 1, "no proof", "1.0 to 3.0 s after"),
        (WITH, 14, 1, "not met", "3.0 to 5.0 s after"),
        (WITH, 10.3, 0.1, "met", "0.2 to 0.4 s after"),
        (AFTER, 12, 1, "met", "1.0 to 3.0 s after"),
        (AFTER, 10, 1, "no proof", "before to"),
        (AFTER, 8, 1, "not met", "before"),
        (AFTER, 17, 1, "not met", "6.0 to 8.0 s after"),
    ],
)
def test_opening_order(procedure: Procedure, opened: float, u: float, answer: str, text: str) -> None:
    job = Job(procedure, scope="nipples rr", u=u).open("rr", "p1", opened).run("p1", 10, 30).close("rr", 35)
    finding = ask(8, job)
    assert finding.answer == answer, finding
    assert text in finding.details[0].text


def test_one_that_was_closed_to_read_the_pressure_again_is_judged_by_the_opening_that_its_run_had() -> None:
    job = Job(BEFORE, scope="nipples rr").pressurise(0).read("feed-pressure", "2.0 bar", 5, pass_id="p1")
    job.open("rr", "p1", 10).close("rr", 100, "p1").read("feed-pressure", "2.0 bar", 105, pass_id="p1")
    job.open("rr", "p1", 115).run("p1", 120, 140).close("rr", 146, "p1")
    assert {number: ask(number, job).answer for number in (6, 8, 10, 35)} == dict.fromkeys((6, 8, 10, 35), "met")
    left = Job(BEFORE, scope="nipples rr").open("rr", "p1", 10).run("p1", 120, 140).close("rr", 146, "p1")
    assert ask(8, left).answer == "not met"


def test_without_a_run_an_opening_or_a_wire_command() -> None:
    assert ask(8, Job(scope="nipples rr").open("rr", "p1", 8)).answer == "no proof"
    assert ask(8, Job(scope="nipples rr").run("p1", 10, 30)).answer == "no proof"
    assert ask(8, Job(scope="nipples fl")).answer == "does not apply"
    assert ask(8, clean()).answer == "met"


def test_of_two_openings_the_one_nearest_to_the_run_is_judged() -> None:
    job = Job(scope="nipples rr").open("rr", "p1", -60).close("rr", -50).open("rr", "p1", 7).run("p1", 10, 30)
    assert ask(8, job).answer == "met"


@pytest.mark.parametrize(("opened", "closed"), [(5, 10.5), (-40, 10.5), (-40, 9.5)])
def test_one_that_was_perhaps_shut_before_the_run_has_no_proof(opened: float, closed: float) -> None:
    job = Job(BEFORE, scope="nipples rr").open("rr", "p1", opened).close("rr", closed, "p1", basis="typed")
    finding = ask(8, job.run("p1", 10, 30))
    assert (finding.answer, "shut before the run began" in finding.text) == ("no proof", True), finding


def test_one_that_was_surely_shut_after_the_run_began_is_judged() -> None:
    job = Job(BEFORE, scope="nipples rr").open("rr", "p1", 5).close("rr", 12, "p1", basis="typed").run("p1", 10, 30)
    assert ask(8, job).answer == "met"
    late = Job(BEFORE, scope="nipples rr").open("rr", "p1", -40).close("rr", 12, "p1").run("p1", 10, 30)
    assert ask(8, late).answer == "not met"


def test_a_cued_opening_is_named() -> None:
    job = Job(WITH, scope="nipples rr", u=0.3).open("rr", "p1", 10, on_cue=True).run("p1", 10, 30)
    assert "on cue" in ask(8, job).details[0].text


def test_another_visits_opening_does_not_stand_in_for_one_without_entry() -> None:
    twice = edit(('nipples = ["rl"]', 'nipples = ["rr"]'))
    job = Job(twice, scope="nipples rr").open("rr", "p1", 7).run("p1", 10, 30).close("rr", 35, "p1").run("p2", 110, 130)
    assert [(one.subject, one.answer) for one in ask(8, job).details] == [
        ("p1, rear right", "met"),
        ("p2, rear right", "no proof"),
    ]


def test_where_either_of_two_openings_may_be_the_nearest_both_decide() -> None:
    job = Job(scope="nipples rr").open("rr", "p1", 4).close("rr", 8)
    assert ask(8, job.open("rr", "p1", 12, basis="typed", u=1).run("p1", 10, 30)).answer == "not met"
    job = Job(scope="nipples rr").open("rr", "p1", 4).close("rr", 8)
    assert ask(8, job.open("rr", "p1", 12, basis="typed", u=9).run("p1", 10, 30)).answer == "no proof"


def shut_before_its_run() -> Job:
    return Job(scope="nipples rr").open("rr", "p1", 2).close("rr", 6, "p1").run("p1", 10, 30)


def test_one_that_was_shut_again_before_the_run_is_no_opening_for_it() -> None:
    finding = ask(8, shut_before_its_run())
    assert (finding.answer, "shut again before the run began (entry 2)" in finding.text) == ("no proof", True), finding
    said = shut_before_its_run().step("nipple-missed", 40, act="skipped", pass_id="p1", nipple="rr")
    assert "says that it was not opened while it ran" in ask(8, said).text
    late = shut_before_its_run().open("rr", "p1", 20, u=10, basis="typed", entered=40)
    assert ask(8, late).answer == "no proof" and "after the run began" in ask(8, late).text
    after = shut_before_its_run().open("rr", "p1", 40)
    assert ask(8, after).answer == "not met"


@pytest.mark.parametrize("missed", [False, True])
def test_what_is_said_of_one_that_was_shut_again_agrees_with_whether_it_was_the_right_one(missed: bool) -> None:
    job = shut_before_its_run()
    if missed:
        job.step("nipple-missed", 40, act="skipped", pass_id="p1", nipple="rr")
    words = ask(8, job).text.partition(": ")[2]
    assert ask(7, job).answer == ask(8, job).answer == "no proof" and words in ask(7, job).text
    assert words in ask(6, job).text


@pytest.mark.parametrize(("closed", "answer"), [(35, "no proof"), (5, "not met")])
def test_one_whose_opening_is_not_written_may_be_the_one_that_the_run_had(closed: float, answer: str) -> None:
    job = Job(scope="nipples rr").close("rr", closed, "p1", basis="typed").run("p1", 10, 30).open("rr", "p1", 60)
    found = ask(8, job)
    assert found.answer == answer, found
    assert ("entry 1 closes it, and no entry says when it was opened" in found.text) == (answer == "no proof")
