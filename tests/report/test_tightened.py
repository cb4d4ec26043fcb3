"""What is open in a released job only by other tolerances than those of its release, and a record that was altered."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.audit.jobs import Job, clean
from tests.audit.shipped import QUESTIONS
from tests.report.test_sheet import Page

from witnessmark.audit.policy import BY_POLICY, DEFAULT, Policy, policy_said, read
from witnessmark.audit.run import Audit, audit
from witnessmark.audit.verdict import Finding
from witnessmark.audit.verify import Verification
from witnessmark.host.releasing import gate_of
from witnessmark.journal import bodies
from witnessmark.report.facts import facts
from witnessmark.report.released import since, spell, tightened
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


def given_back(made: Job) -> Job:
    """Return the job with a line that the question rests on corrected after the release, and corrected back."""
    seq = next(one.seq for one in made.entries() if one.kind == "step" and one.body["act"] == "opened")
    for said in ("x", ""):
        made.add("amendment", {"instead": {"said": said}, "reason": "y", "target": seq}, 720, by="person:l-heron")
    return made


ACCEPTED = next(spell(one) for one in audited(clean()).findings if one.number == 31)
"""What a release under the strict policy accepts of the question."""


@pytest.mark.parametrize(
    ("made", "policy", "opened", "now"),
    [
        (job(), STRICT, [], [31]),
        (job(ACCEPTED, policy=STRICT.said), DEFAULT, [], []),
        (job(ACCEPTED, policy=STRICT.said), read("move_s = 50\n"), [], []),
        (job(policy=""), STRICT, [], []),
        (job(policy=""), DEFAULT, [], []),
        (job(policy=STRICT.said), DEFAULT, [31], []),
        (job(policy=STRICT.said), STRICT, [31], []),
    ],
)
def test_what_was_written_after_a_release_is_judged_by_the_tolerances_of_that_release(
    made: Job, policy: Policy, opened: list[int], now: list[int]
) -> None:
    found = audited(given_back(made), policy)
    assert [one.number for one in since(found) if one.number in BY_POLICY] == opened
    assert [one.number for one in tightened(found)] == now
    said = "Is the record physically plausible? not met by the tolerances of its release"
    for paper in (sheet, statement):
        assert (said in Page(paper(facts(found))).text) == bool(opened and policy != STRICT)


@pytest.mark.parametrize(
    ("said", "values"),
    [
        (DEFAULT.said, {}),
        (read("# as without one\n").said, {}),
        (read("move_s = 9\nlag_s = 70\n").said, {"move_s": (9, 3), "lag_s": (70, 60)}),
        ("", None),
        ("move_s 9 instead of 3", None),
        (STRICT.said + ", and more", None),
        (STRICT.said.replace("move_s", "other_s"), None),
        (STRICT.said.replace("100", "0"), None),
        (STRICT.said.replace("100", "9" * 5000), None),
    ],
)
def test_tolerances_are_read_out_of_what_a_release_says_of_them_and_never_guessed(
    said: str, values: dict[str, tuple[int, int]] | None
) -> None:
    then = policy_said(said)
    assert (None if then is None else then.set_to) == values


def test_of_an_altered_record_every_paper_says_that_first_and_what_can_be_done_and_nothing_opened_it() -> None:
    made = job()
    made.add("remark", {"said": "x"}, 720, by="person:l-heron")
    altered = Verification("altered", "entry 3 is not as it was written", made.entries())
    found = audit(made.entries(), list(QUESTIONS.values()), integrity=altered)
    assert not since(found) and not gate_of(found).again and "30 Is the record" in gate_of(found).shut[-1]
    told = facts(found)
    for paper in (sheet, statement, tag):
        text = Page(paper(told)).text
        assert "RECORD ALTERED: DO NOT DRIVE" in text and "OPEN SINCE" not in text and "releases it anew" not in text
        assert "is not released anew as it is" in text and "look at the vehicle itself in a new job" in text, paper
        assert text.index("RECORD ALTERED") < text.index("eleased by l-heron")
    told["since"] = [{"what": "not met", "title": "Fresh?", "text": "x", "number": 3, "cites": [99]}]
    for paper in (sheet, statement, tag):
        text = Page(paper(told)).text
        assert text.index("RECORD ALTERED") < text.index("OPEN SINCE") < text.index("Fresh?"), paper
        assert "releases it anew" not in text
