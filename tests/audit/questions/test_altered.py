"""Question 30, is the record as it was written: each of its answers from the check of the evidence."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from tests.audit.jobs import clean
from tests.audit.shipped import ask


@dataclass(frozen=True)
class Checked:
    verdict: str
    text: str = "as the check says it"


@pytest.mark.parametrize(
    ("verdict", "answer"),
    [
        ("intact", "met"),
        ("consistent, unanchored", "no proof"),
        ("incomplete", "no proof"),
        ("end damaged", "not met"),
        ("altered", "not met"),
        ("entries missing", "not met"),
        ("wrong key", "not met"),
        ("a verdict of a later version", "no proof"),
    ],
)
def test_altered(verdict: str, answer: str) -> None:
    finding = ask(30, clean(), Checked(verdict))
    assert finding.answer == answer
    assert finding.text == f"{verdict}: as the check says it"


def test_a_record_that_was_not_checked_is_no_proof() -> None:
    assert ask(30, clean()).answer == "no proof"
