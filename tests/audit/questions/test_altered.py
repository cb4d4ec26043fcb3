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


@pytest.mark.parametrize(("verdict", "answer"), [("intact", "no proof"), ("altered", "not met")])
@pytest.mark.parametrize(("lost", "said"), [({"from": 9, "to": 12}, "from 9 to 12"), ({"from": 9}, "from 9 on")])
def test_a_job_that_may_have_lost_entries_is_not_shown_to_be_whole(
    verdict: str, answer: str, lost: dict[str, int], said: str
) -> None:
    job = clean()
    noted = job.add("note", {"lost": lost}, at=700)
    finding = ask(30, job, Checked(verdict))
    assert finding.answer == answer
    assert f"entries {said} of the journal were lost afterwards" in finding.text
    assert noted in finding.cites


def test_a_remark_takes_nothing_from_the_proof() -> None:
    job = clean()
    job.add("note", {"said": "a cold morning"}, at=700)
    assert ask(30, job, Checked("intact")).answer == "met"
