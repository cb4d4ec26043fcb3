"""A corrected entry: each question is answered on what was first written and on what it was corrected to."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from tests.audit.jobs import TECHNICIAN, Job
from tests.audit.shipped import ask

from witnessmark.audit import amended
from witnessmark.audit.amended import on_both
from witnessmark.audit.run import audit
from witnessmark.audit.verdict import Detail, Finding
from witnessmark.host.extending import questions
from witnessmark.journal import bodies


def pressed(amount: str) -> Job:
    job = Job(scope="nipples fl").pressurise(0).read("feed-pressure", amount, 95)
    return job.open("fl", "p4", 100).close("fl", 130, "p4").depressurise(150)


def reading(job: Job) -> int:
    return next(one.seq for one in job.entries() if one.kind == "reading")


def amend(job: Job, target: int, instead: dict[str, Any], at: float = 300) -> int:
    return job.add("amendment", {"instead": instead, "reason": "misread", "target": target}, at, by=TECHNICIAN)


def amount(value: str) -> dict[str, Any]:
    return {"amount": {"unit": "bar", "value": value}}


def found(job: Job, number: int) -> Finding:
    return next(one for one in audit(job.entries(), questions.load().asked).findings if one.number == number)


@pytest.mark.parametrize(
    ("written", "corrected", "answer"),
    [
        ("2.0 bar", "1.9", "met"),
        ("1.2 bar", "1.3", "not met"),
        ("1.2 bar", "2.0", "no proof"),
        ("2.0 bar", "1.2", "not met"),
    ],
)
def test_a_reading_is_answered_on_both_values_and_where_they_differ_a_correction_makes_it_no_better(
    written: str, corrected: str, answer: str
) -> None:
    job = pressed(written)
    target = reading(job)
    by = amend(job, target, amount(corrected))
    one = found(job, 11)
    assert one.answer == answer
    assert f"entry {target} corrected in entry {by}" in one.text and {target, by} <= set(one.cites)
    if {written, corrected} & {"2.0", "2.0 bar"} and answer != "met":
        assert "as first written" in one.text and "as corrected" in one.text
        assert "1.2 bar read" in one.text


def test_codes_that_were_typed_wrong_are_answered_on_both_readings() -> None:
    job = Job(scope="nipples fl").open("fl", "p4", 100).close("fl", 130, "p4")
    target = job.add("scan", bodies.CodeScan(when="after", codes=()), 200, by=TECHNICIAN)
    assert found(job, 27).answer == "met"
    by = amend(job, target, {"codes": ["P0123"]})
    one = found(job, 27)
    assert one.answer == "not met" and "as corrected not met (" in one.text and {target, by} <= set(one.cites)


def test_a_finding_that_rests_on_no_corrected_entry_stays_as_it_was() -> None:
    job = pressed("2.0 bar")
    before = {one.number: one for one in audit(job.entries(), questions.load().asked).findings}
    amend(job, reading(job), amount("1.9"))
    after = {one.number: one for one in audit(job.entries(), questions.load().asked).findings}
    changed = {number for number in before if before[number].text != after[number].text}
    resting = {number for number, one in before.items() if reading(job) in one.cites}
    assert resting and resting <= changed and 2 not in changed
    assert {before[number].answer for number in changed} == {after[number].answer for number in changed}


def test_of_several_corrections_the_last_counts_and_all_are_named() -> None:
    job = pressed("1.2 bar")
    target = reading(job)
    first, second = amend(job, target, amount("1.4")), amend(job, target, amount("2.1"), 310)
    one = found(job, 11)
    assert one.answer == "no proof" and f"corrected in entries {first} and {second}" in one.text
    assert "as corrected met" in one.text


def test_each_correction_is_named_with_what_it_corrects() -> None:
    one = Finding(11, "pressure", "Under pressure throughout?", "met", "under pressure", (2, 6))
    text = on_both(one, one, {2: (8,), 6: (7,)}).text
    assert "entry 2 corrected in entry 8 and entry 6 corrected in entry 7" in text
    many = {seq: (seq + 10,) for seq in range(1, 7)}
    assert (
        "entries 1, 2, 3, 4, 5 and 6 corrected in entries 11, 12, 13, 14, 15 and 16"
        in on_both(replace(one, cites=tuple(many)), one, many).text
    )


def test_a_text_that_a_correction_changes_a_little_is_told_once_with_what_differs() -> None:
    said = "p1: the link was lost while it ran: nobody saw it end; at the latest it was at rest {} after its start"
    one = Finding(20, "link", "Did the link hold?", "not met", said.format("87.7 s"), (2,))
    two = replace(one, text=said.format("4 min 02.0 s"))
    end = 'the same answer as corrected, but for "4 min 02.0 s" in place of "87.7 s"'
    assert on_both(one, two, {2: (8,)}).text == f"{one.text}; entry 2 corrected in entry 8, {end}"
    other = replace(one, text="the session went on as it should")
    assert on_both(one, other, {2: (8,)}).text.endswith(f"the same answer as corrected: {other.text}")


def test_where_only_a_part_of_a_finding_changes_that_part_is_named() -> None:
    parts = [(Detail("p1", "met", "held", (2,)), Detail("p2", "met", f"ran {ran}", (3,))) for ran in ("8 s", "9 s")]
    one, two = (Finding(20, "link", "Did the link hold?", "met", "it held", (2, 3), details) for details in parts)
    assert on_both(one, two, {3: (8,)}).text.endswith("the same answer as corrected, but what is said of p2 differs")
    assert on_both(one, one, {3: (8,)}).text.endswith("the same answer as corrected")


@pytest.mark.parametrize("nested", [True, False])
def test_a_correction_of_a_correction_is_followed_and_the_last_word_counts(nested: bool) -> None:
    job = pressed("1.2 bar")
    target = reading(job)
    first = amend(job, target, amount("2.1"))
    second = amend(job, first, {"instead": amount("1.3")} if nested else amount("1.3"), 310)
    one = found(job, 11)
    assert one.answer == "not met" and f"corrected in entries {first} and {second}" in one.text
    assert {target, first, second} <= set(one.cites) and "1.3 bar read" in one.text
    amend(job, second, amount("2.0"), 320)
    assert found(job, 11).answer == "no proof"


def test_a_correction_that_is_taken_back_changes_nothing() -> None:
    job = pressed("2.0 bar")
    first = amend(job, reading(job), amount("1.2"))
    assert found(job, 11).answer == "not met"
    amend(job, first, {"instead": {}}, 310)
    assert found(job, 11).answer == "met"


def test_an_answer_that_appears_only_by_a_correction_is_no_proof() -> None:
    job = Job().step("container", 5, "fluid-grade", answer="DOT 3")
    target = job.last()
    assert ask(2, job).answer == "not met"
    amend(job, target, {"answer": "DOT 4"})
    one = found(job, 2)
    assert one.answer == "no proof" and "DOT 3" in one.text and target in one.cites


def test_a_correction_that_cannot_be_read_makes_no_proof_of_what_rests_on_the_entry() -> None:
    job = pressed("2.0 bar")
    target = reading(job)
    by = amend(job, target, {"amount": 7})
    one = found(job, 11)
    assert one.answer == "no proof" and "cannot be read" in one.text and by in one.cites
    assert "as first written met" in one.text


def test_a_correction_of_an_entry_that_is_not_there_says_nothing() -> None:
    job = pressed("2.0 bar")
    amend(job, 999, amount("1.2"))
    assert amended.corrections(job.entries()) == {}
    assert found(job, 11).answer == "met"
