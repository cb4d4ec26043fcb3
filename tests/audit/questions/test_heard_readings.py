"""What another tester read while we listened: evidence, and each answer that rests on it says so."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job
from tests.audit.shipped import QUESTIONS

from witnessmark.audit.verdict import Finding
from witnessmark.journal import bodies

NUMBER, OTHER = "1M8GDM9AXKP042788", "1J9RP1A36A1644345"
"""49 CFR 565: examples with a right check digit."""


def vehicle(read: str) -> Finding:
    job = Job(grade="heard", vehicle={"vin": NUMBER})
    job.exchange("identification", "22F190", 5, "62F190" + read.encode().hex().upper(), heard=True)
    return job.ask(QUESTIONS[1])


@pytest.mark.parametrize(("read", "answer"), [(NUMBER, "met"), (OTHER, "not met")])
def test_a_number_that_another_tester_read_is_compared_and_said_to_be_heard(read: str, answer: str) -> None:
    finding = vehicle(read)
    assert finding.answer == answer
    assert any("heard as another tester read it" in one.subject for one in finding.details)


@pytest.mark.parametrize("heard", [True, False])
def test_codes_that_another_tester_read_are_said_to_be_heard(heard: bool) -> None:
    job = Job(grade="heard", scope="nipples fl")
    job.open("fl", "p4", 100).close("fl", 130)
    job.exchange("scan", "190209", 200, "5902094123450C", heard=heard)
    job.add("scan", bodies.CodeScan(when="after", codes=("C0123-45",), exchange=job.last()), 201)
    (one,) = job.ask(QUESTIONS[27]).details
    assert one.answer == "not met" and ("heard as another tester read them" in one.text) is heard


def told(*numbers: str) -> Finding:
    job = Job(grade="told", vehicle={"vin": NUMBER})
    for at, number in enumerate(numbers, 5):
        body = bodies.Condition(
            name="vehicle number", found=number, wanted=NUMBER, holds=number == NUMBER, source="told"
        )
        job.add("condition", body, at, by="person:t-otter")
    return job.ask(QUESTIONS[1])


@pytest.mark.parametrize(
    ("numbers", "answer", "says"),
    [
        ((NUMBER,), "met", "is told: t-otter read it off another tester"),
        ((OTHER,), "not met", f"{OTHER} is not {NUMBER}"),
        ((OTHER, NUMBER), "met", f"first as {OTHER}"),
        ((NUMBER, OTHER), "not met", f"{OTHER} is not {NUMBER}"),
    ],
)
def test_a_number_that_a_person_read_off_another_tester_is_said_to_be_told(
    numbers: tuple[str, ...], answer: str, says: str
) -> None:
    finding = told(*numbers)
    assert finding.answer == answer and says in finding.text, finding


def test_codes_that_a_person_read_off_another_tester_are_said_to_be_told_on_the_answer_too() -> None:
    job = Job(grade="told", scope="nipples fl")
    job.add("scan", bodies.CodeScan(when="before", codes=()), 50, by="person:t-otter")
    job.open("fl", "p4", 100).close("fl", 130)
    job.add("scan", bodies.CodeScan(when="after", codes=()), 201, by="person:t-heron")
    finding = job.ask(QUESTIONS[27])
    assert finding.answer == "met", finding
    for who, when in (("t-otter", "before"), ("t-heron", "after")):
        says = f"told: {who} read those {when} the work off another tester"
        assert says in finding.text and says in finding.details[0].text
