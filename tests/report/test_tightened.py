"""What is open in a released job only by other tolerances than those of its release, and a record that was altered."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.audit.jobs import Job, clean
from tests.audit.shipped import QUESTIONS
from tests.report.test_facts import of
from tests.report.test_sheet import Page

from witnessmark.audit.policy import DEFAULT, Policy, read
from witnessmark.audit.run import Audit, audit
from witnessmark.audit.verdict import Finding
from witnessmark.host.releasing import gate_of
from witnessmark.journal import bodies
from witnessmark.report.facts import facts
from witnessmark.report.released import tightened
from witnessmark.report.sheet import sheet
from witnessmark.report.statement import statement, tag

STRICT = read("move_s = 100\n")
OPEN = Finding(31, "plausible", "Plausible?", "not met", "too soon", (3,))


def job(*accepted: str, policy: str = DEFAULT.said) -> Job:
    made = clean().state("finished", 700)
    made.add("state", bodies.State(state="released", accepted=accepted, policy=policy), 710, by="person:l-heron")
    return made


def audited(made: Job, policy: Policy = STRICT, *findings: Finding) -> Audit:
    found = audit(made.entries(), list(QUESTIONS.values()), policy=policy)
    return replace(found, findings=findings) if findings else found


@pytest.mark.parametrize(
    ("made", "policy", "found"),
    [
        (job(), STRICT, True),
        (job(policy=""), STRICT, False),
        (job(policy="in other words"), STRICT, False),
        (job(), read("# as without one\n"), False),
        (job(policy=read("# as without one\n").said), STRICT, True),
        (job(policy=read("# a comment\nmove_s = 100\n").said), STRICT, False),
        (job(policy=read("move_s = 99\n").said), STRICT, True),
        (job(), DEFAULT, False),
        (job(policy=STRICT.said), STRICT, False),
        (job(policy=STRICT.said), DEFAULT, True),
        (job("31 Plausible? no proof: 1 s"), STRICT, True),
        (job("31 Plausible? not met: 1 s"), STRICT, False),
        (job("x: y z", "31", ""), STRICT, True),
        (clean(), STRICT, False),
    ],
)
def test_what_is_open_by_another_policy_than_that_of_the_release_and_not_accepted_is_named(
    made: Job, policy: Policy, found: bool
) -> None:
    assert tightened(audited(made, policy, OPEN)) == ([OPEN] if found else [])
    assert tightened(audited(made, policy, replace(OPEN, number=9))) == [], "no policy bears on it"


def test_every_paper_names_it_with_both_policies_and_the_lead_may_accept_it_by_releasing_anew() -> None:
    found = audited(job())
    told = facts(found)
    said = f"Of who reads this: {STRICT.said}. At its release: {DEFAULT.said}. Where these are the"
    for paper in (sheet, statement, tag):
        assert said in Page(paper(told)).text, paper
    assert "OPEN SINCE" not in Page(tag(told)).text
    gate = gate_of(found)
    assert gate.again and 31 in {one.number for one in gate.held} and not gate.shut
    assert not gate_of(audited(job(), DEFAULT)).again


def test_a_tag_says_of_an_altered_record_what_can_be_done_and_never_that_it_is_released_anew() -> None:
    made = job()
    made.add("amendment", {"instead": {"said": "x"}, "reason": "y", "target": 1}, 720, by="person:l-heron")
    told = of(made)
    told["record"] |= {"verdict": "altered", "text": "entry 3 is not as it was written"}
    title = "Is the record as it was written?"
    told["since"] = [{"what": "not met", "title": title, "text": "x", "number": 30, "cites": [99]}]
    text = Page(tag(told)).text
    assert "RECORD ALTERED" in text and "OPEN SINCE" not in text and "releases it anew" not in text
    assert "is not released anew as it is" in text and "look at the vehicle itself in a new job" in text
    told["since"] += [{"what": "not met", "title": "Fresh?", "text": "x", "number": 3, "cites": [99]}]
    text = Page(tag(told)).text
    assert "OPEN SINCE" in text and "Fresh?" in text and "releases it anew" not in text
    for paper in (sheet, statement):
        assert "releases it anew" not in Page(paper(told)).text
