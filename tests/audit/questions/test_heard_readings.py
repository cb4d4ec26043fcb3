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
