"""A release as papers tell it: in brief on page one, with every reason on the lead's pages."""

from __future__ import annotations

from typing import Any

import pytest
from tests.audit.jobs import Job, clean, edit
from tests.report.test_facts import of
from tests.report.test_sheet import Page

from witnessmark.audit.run import Audit
from witnessmark.audit.verdict import Answer, Finding
from witnessmark.journal import bodies
from witnessmark.report.released import BY_NAME, since
from witnessmark.report.sheet import sheet
from witnessmark.report.statement import statement, tag

ACCEPTED = ("3 Was it fit? no proof: nobody wrote it down", "9 Was a nipple left open? not met: rear left was")


def released(**more: Any) -> Job:
    job = clean().state("finished", 700)
    job.add("state", bodies.State(state="released", **more), 710, by="person:l-heron")
    return job


def test_what_was_accepted_is_brief_on_page_one_and_whole_on_the_leads_pages() -> None:
    told = of(released(why="the customer was told", accepted=ACCEPTED, proven="pin", may_release=()))
    front, _, lead = Page(sheet(told)).text.partition("What was done")
    assert (
        "Accepted by l-heron as open: questions 3 and 9; each stands on the lead's pages" in front
        and "the customer was told" in front
    )
    assert "nobody wrote it down" not in front
    for said in ("3 Was it fit? no proof: nobody wrote it down", "Reason: the customer was told", "with the PIN"):
        assert said in lead


def test_one_accepted_question_and_what_has_no_number_are_said_so() -> None:
    assert of(released(accepted=ACCEPTED[:1]))["release"]["brief"] == "accepted by l-heron as open: question 3"
    other = of(released(accepted=(*ACCEPTED, "the left mirror")))["release"]
    assert other["brief"] == "accepted by l-heron as open: questions 3 and 9, and 1 thing of no question"
    assert other["accepted"][-1] == {"number": None, "text": "the left mirror"}
    assert of(released())["release"]["brief"] == ""
    assert of(clean())["release"] is None


def test_a_long_reason_is_cut_on_page_one_and_whole_on_the_leads_pages() -> None:
    why = "because " * 60 + "so"
    front, _, lead = Page(sheet(of(released(why=why)))).text.partition("What was done")
    assert why not in front and "\u2026" in front and why in lead


def test_a_release_by_name_only_is_said_on_every_paper() -> None:
    told = of(released(proven="name only"))
    assert "Released by l-heron (by name only) No PIN was asked for" in Page(sheet(told)).text.partition("What was")[0]
    assert f"by name only: {BY_NAME}" in Page(statement(told)).text
    assert f"Released by l-heron (by name only) By name only: {BY_NAME}" in Page(tag(told)).text
    assert "job released, by name only" in told["entries"][-1]["text"]
    proven = of(released(proven="pin"))
    assert not any("name only" in Page(paper(proven)).text for paper in (sheet, statement, tag))


@pytest.mark.parametrize(
    ("named", "said"),
    [
        (None, "the entry does not say who was allowed to release"),
        ((), "only a lead was allowed to release"),
        (("t-otter", "t-crane"), "release.toml allowed t-otter and t-crane to release"),
    ],
)
def test_whom_the_shop_allowed_to_release_then_is_said(named: tuple[str, ...] | None, said: str) -> None:
    told = of(released(may_release=named))
    assert said in Page(sheet(told)).text
    assert told["release"]["may_release"] == (None if named is None else list(named))


@pytest.mark.parametrize(
    ("accepted", "answer", "text", "later", "opened"),
    [
        ("", "no proof", "nobody looked", True, True),
        ("", "no proof", "nobody looked", False, False),
        ("", "met", "it was", True, False),
        ("8 Was it? no proof: nobody looked", "not met", "it was not", True, True),
        ("8 Was it? not met: it was not", "no proof", "as first written not met", True, False),
        ("8 Was it? not met: rear left", "not met", "rear left and rear right", True, True),
        ("8 Was it? not met: rear left", "not met", "rear left", True, False),
    ],
)
def test_what_an_entry_after_the_release_opened_and_nobody_accepted_is_open_since(
    accepted: str, answer: Answer, text: str, later: bool, opened: bool
) -> None:
    job = released(accepted=(accepted,) if accepted else ())
    found = Finding(8, "it", "Was it?", answer, text, (3, job.last() + later))
    assert since(Audit(job.case(), (found,))) == ([found] if opened else [])
    assert since(Audit(clean().case(), (found,))) == [], "not released: all of it is open"


@pytest.mark.parametrize(
    ("now", "opened"),
    [
        ("rear left; entry 4 corrected in entries 5 and 9, the same answer as corrected: rear right", False),
        (
            "rear left; entry 4 corrected in entries 5, 6 and 9 and entry 7 corrected in entry 8, the same answer as "
            "corrected: rear right",
            False,
        ),
        ("rear left; entry 4 corrected in entries 5 and 9, the same answer as corrected: front left", True),
        ("entry 4 corrected in entries 5 and 9: as first written not met (rear left); as corrected met (it was)", True),
    ],
)
def test_a_further_correction_that_changes_no_answer_and_no_words_opens_nothing(now: str, opened: bool) -> None:
    first = "8 Was it? not met: rear left; entry 4 corrected in entry 5, the same answer as corrected: rear right"
    job = released(accepted=(first,))
    found = Finding(8, "it", "Was it?", "not met", now, (3, job.last() + 1))
    assert since(Audit(job.case(), (found,))) == ([found] if opened else [])


def leaking() -> Job:
    """Return a job that was released although a check had found a leak."""
    check = '[[steps_after]]\nid = "tight"\ntext = "No leak?"\nact = "check"\naffects = "leak-check"\n\n[pump]'
    job = clean(edit(("[pump]", check))).step("tight", 650, act="skipped", said="it drips", looked=True)
    state = bodies.State(state="released", accepted=("26 No leak? not met: it drips, and more",))
    job.state("finished", 700).add("state", state, 710, by="person:l-heron")
    return job


def test_a_tag_of_a_released_job_names_what_was_accepted_what_is_not_met_first() -> None:
    text = Page(tag(of(released(why="the customer was told", accepted=ACCEPTED)))).text
    said = "Released with 2 points accepted as open by l-heron: Was a nipple left open? not met Was it fit? no proof"
    assert said in text and "nobody wrote it down" not in text
    assert "Released with 1 point accepted as open" in Page(tag(of(released(accepted=ACCEPTED[:1])))).text
    assert "accepted" not in Page(tag(of(released()))).text
    assert "No leak? not met: it drips" in Page(tag(of(leaking()))).text
    many = Page(tag(of(released(accepted=tuple(f"{n} Was it {n}? no proof: no" for n in range(1, 15)))))).text
    assert "Was it 8? no proof and 6 more" in many and "Was it 9?" not in many


def test_what_a_correction_opened_is_not_open_once_that_was_corrected_back_and_both_stay_told() -> None:
    job = released()
    seq = next(one.seq for one in job.entries() if one.kind == "reading" and one.body["what"] == "feed-pressure")
    was = job.entries()[seq].body["amount"]
    for value in ("0.2", was["value"]):
        amount = {"unit": was["unit"], "value": value}
        body = {"instead": {"amount": amount}, "reason": "misread", "target": seq}
        last = job.add("amendment", body, 720, by="person:l-heron")
        told = of(job)
        assert any(one["number"] == 11 for one in told["since"]) == (value == "0.2")
    line = f"{was['value']} {was['unit']}, then 0.2 {was['unit']}, then {was['value']} {was['unit']}"
    said = f"{line} (entry {seq}, corrected in entries {last - 1} {last})"
    assert said in told["values"][0] and said in Page(statement(told)).text
    assert [one["seq"] for one in told["entries"][seq]["corrected"]] == [last - 1, last]
