"""Steps that no entry names, and passes that were to be done again and were not: papers say so."""

from __future__ import annotations

from typing import Any

import pytest
from tests.audit.jobs import Job, clean, edit
from tests.audit.procedures import WHOLE, complete
from tests.audit.shipped import QUESTIONS
from tests.report.test_facts import of
from tests.report.test_sheet import Page

from witnessmark.audit.run import audit
from witnessmark.journal import bodies
from witnessmark.procedure.model import Procedure
from witnessmark.report.facts import facts
from witnessmark.report.sheet import sheet
from witnessmark.report.statement import statement
from witnessmark.report.unsaid import in_short


def test_steps_that_no_entry_names_are_named_short_on_page_one_and_whole_on_the_leads_pages() -> None:
    done = complete().entries()
    end = next(at for at, one in enumerate(done) if (one.body.get("step"), one.body.get("pass_id")) == ("cap", "p4"))
    told = facts(audit(done[:end], list(QUESTIONS.values())))
    assert told["unsaid"] == [
        "Cap on (p4)", "Pump the pedal", "Read the level", "Look for leaks", "Road test", "Torque the wheels",
        "Everything is back on", "Leave the service mode",
    ]  # fmt: skip
    listed = "; ".join(told["unsaid"])
    line = f"asked for, and no entry says that it was done (in full on the lead's pages): {listed}"
    assert told["not_part"] == [line]
    front, _, lead = Page(sheet(told)).text.partition("Timeline")
    assert line in front and "no step was left out for good" not in front and line in Page(statement(told)).text
    assert "Steps that no entry names" in lead
    whole = of(complete())
    assert (whole["unsaid"], whole["not_part"]) == ([], [])
    assert in_short(["x " * 60] * 20)[0].endswith("x \u2026; and 12 more")


@pytest.mark.parametrize("why", [{"act": "skipped", "said": "no time"}, {"answer": "pump", "step": "not-written"}])
def test_a_step_that_was_left_out_or_is_empty_on_a_card_has_an_entry_that_names_it(why: dict[str, Any]) -> None:
    job = Job(WHOLE).step(**{"step": "pump", "at": 5, **why})
    assert "Pump the pedal" not in of(job)["unsaid"] and "Pump the pedal" in of(Job(WHOLE))["unsaid"]


def test_a_pass_that_was_to_be_done_again_and_was_not_is_named_with_what_was_not_part() -> None:
    job = clean().step("run-again", 700, act="confirmed", pass_id="p2", said="bubbles")
    said = "p2 is to be done again (entry 31), and no entry shows that it was"
    assert of(job)["not_part"] == [said] and said in Page(statement(of(job))).text


def test_a_card_is_silent_on_the_place_it_leaves_empty_and_not_on_what_is_ticked_beside_it_or_keyed_in() -> None:
    job = Job(WHOLE, grade="told").open("rr", "p1", 100).run("p1", 104, None)
    ended = bodies.Outcome(
        actuation=job.last(), pass_id="p1", result="completed", stop="unknown", why=bodies.CARD_ENDLESS
    )
    job.add("outcome", bodies.to_body(ended), 130, by="person:t-otter", basis="typed", u=30)
    job.step(
        "not-written", 140, act="confirmed", answer="cap", pass_id="p1", nipple="rr", also=("closed", "clear")
    ).step("not-written", 150, act="confirmed", answer="pressure", pass_id="p2").open("rl", "p2", 160)
    (line,) = of(job)["not_written"]
    empty = "Cap on but for closed and clear (p1); pressure (p2); the end of the run (p1)"
    assert line == f"not written on the card, so there is no proof of it: {empty}"
    (later,) = of(job.step("run-again", 200, pass_id="p1"))["not_written"]
    assert later.endswith("the end of the run (p1 before it was done again)")


def test_of_a_reading_that_a_card_leaves_unexplained_what_is_ticked_beside_it_is_no_opening() -> None:
    job = Job(WHOLE, grade="told").read("torque", "20 N.m", 100, step="torque", pass_id="p1", nipple="rr")
    job.step("not-explained", 110, act="confirmed", answer="torque", pass_id="p1", nipple="rr", also=("closed",))
    (line,) = of(job)["not_written"]
    assert line.startswith("read, and why ") and line.endswith(" on the card: torque 20 N.m (p1, rear right)")


def left_out(number: str) -> Procedure:
    return edit(("[pump]", f'[[leaves_out]]\nquestion = "{number}"\nwhy = "we never look"\n\n[pump]'))


def torqued(job: Job, *amounts: str) -> Job:
    for at, amount in enumerate(amounts, 200):
        job.read(
            "torque", amount, at, step="torque", pass_id="p1", nipple="rr", low="8 N.m", high="10 N.m", instrument="w 1"
        )
    return job


def test_a_question_that_the_procedure_leaves_out_is_named_in_words_on_the_statement() -> None:
    line = "question 23, Was each nipple torqued and capped? left out, we never look"
    told = of(clean(left_out("23")))
    assert told["not_part"] == [line] and line in Page(statement(told)).text
    assert of(clean(left_out("26")))["not_part"] == [
        "question 26, Leak check, pedal and road test done? left out, we never look"
    ]


def test_a_reading_outside_its_limits_stands_on_the_statement_though_its_question_is_left_out() -> None:
    told = of(torqued(clean(left_out("23")), "3 N.m", "20 N.m"))
    (line,) = told["outside"]
    assert line.startswith("p1, rear right, torque: 3 N.m and 20 N.m, asked 8 N.m to 10 N.m (entries ")
    page = Page(statement(told)).text
    assert (
        "Not as the procedure asks: nothing" not in page
        and "p1, rear right, torque: 3 N\u00b7m and 20 N\u00b7m" in page
    )


@pytest.mark.parametrize(
    "job",
    [
        torqued(clean(left_out("23")), "3 N.m", "9 N.m"),
        torqued(clean(left_out("3")), "3 N.m"),
        torqued(clean(), "3 N.m"),
    ],
)
def test_a_reading_that_was_put_right_or_that_a_finding_tells_is_not_told_twice(job: Job) -> None:
    assert of(job)["outside"] == []
