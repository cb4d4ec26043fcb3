"""Page one says in words where a visit was not done as asked, as the audit has it, and which bottles nobody read."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job, clean, edit
from tests.audit.questions.test_fluid_questions import BOTH, P3, two_spilled
from tests.report.test_facts import of
from tests.report.test_sheet import page


def job(grade: str = "sent") -> Job:
    return Job(scope="nipples rr", grade=grade)  # type: ignore[arg-type]


LOOKED = edit(("[pump]", '[[steps_after_each_pass]]\nid = "clear"\ntext = "Clear?"\naffects = "clear"\n[pump]'))
ASKED = job().open("rr", "p1", 5).run("p1", 10, 30).close("rr", 35, "p1")
SHORT = job().open("rr", "p1", 5).run("p1", 10, 14, result="stopped").close("rr", 35, "p1")
LATE = job().run("p1", 10, 30).open("rr", "p1", 14).close("rr", 35, "p1")
AFTER = job().run("p1", 10, 30).open("rr", "p1", 40).close("rr", 50, "p1")
SHUT = job().open("rr", "p1", 0).close("rr", 5, "p1").run("p1", 10, 30)
MISSED = (
    job()
    .open("rr", "p1", 0)
    .close("rr", 5, "p1")
    .run("p1", 10, 30)
    .step("nipple-missed", 40, act="skipped", pass_id="p1", nipple="rr")
)
REFUSED = job().open("rr", "p1", 5).run("p1", 10, None, answer="negative", code="22").close("rr", 35, "p1")
UNSURE = job("told").open("rr", "p1", 9.5).run("p1", 10, 30).close("rr", 35, "p1")
NEVER = job().run("p1", 10, 30)


@pytest.mark.parametrize(
    ("job", "cells", "not_as_asked", "not_known"),
    [
        (ASKED, ("", "", ""), [], []),
        (SHORT, ("", "", "too short"), ["pump ran 4.0 s by the control unit's answers"], []),
        (LATE, ("not in time", "not open as asked", ""), ["open for 75 % to 85 %", "3.0 to 5.0 s after"], []),
        (AFTER, ("not in time", "not open as asked", ""), ["open for 0 %", "after the run began"], []),
        (SHUT, ("", "", ""), [], ["rear right: shut again before the run began (entry 2), and no entry opens it"]),
        (MISSED, ("", "not open as asked", ""), ["says that it was not opened while it ran"], []),
        (REFUSED, ("", "", ""), ["rear right: pump was refused and never ran", "pump was refused and never ran"], []),
        (UNSURE, ("", "", ""), [], []),
        (NEVER, ("", "", ""), [], []),
    ],
    ids=["as asked", "short", "late", "after", "shut again", "missed", "refused", "within the touch", "no entry"],
)
def test_what_is_said_beside_a_visit_is_what_the_audit_has_not_met(
    job: Job, cells: tuple[str, ...], not_as_asked: list[str], not_known: list[str]
) -> None:
    told = of(job)
    one = told["passes"][0]
    assert (one["opened_mark"], one["open_for_mark"], one["ran_mark"]) == cells
    for said, wanted in ((one["not_as_asked"], not_as_asked), (one["not_known"], not_known)):
        assert [text in line for text, line in zip(wanted, said, strict=True)] == [True] * len(wanted), said
    failed = [part["text"] for each in told["findings"] for part in each["details"] if part["answer"] == "not met"]
    assert all(any(line.endswith(text) for text in failed) for line in one["not_as_asked"])


@pytest.mark.parametrize(
    ("looked", "said"), [(True, "not clear (question 33 ; entry 3)"), (False, "")], ids=["bubbles", "left out"]
)
def test_page_one_says_beside_a_visit_what_was_seen_not_to_run_clear(looked: bool, said: str) -> None:
    job = Job(LOOKED, scope="nipples fl").open("fl", "p4", 100).close("fl", 130, "p4")
    front = page(job.step("clear", 128, "clear", act="skipped", pass_id="p4", said="bubbles", looked=looked)).text
    front = front.partition("What the record shows")[0]
    assert f"Not as asked: {said}" in front if said else "Not as asked" not in front


def test_page_one_says_it_in_words_and_with_a_sign() -> None:
    table, _, full = page(LATE).text.partition("What the record shows")
    late = "not open as asked (question 6 ; entries 1 5\u20137); not in time (question 8 ; entries 1 5 6)."
    assert f"Not as asked: {late}" in table and "said in full under Findings, by its question" in table
    assert "open for 75 %" not in table and "open for 75 %" in full.partition("Findings")[2]
    assert "Not as asked: too short (question 16 ;" in page(SHORT).text
    assert "Not as asked: did not run (questions 6 , 16 ;" in page(REFUSED).text
    assert "Not known whether it was open for its run: rear right: shut again" in page(SHUT).text
    front = page(clean()).text.partition("Timeline")[0]
    assert not any(words in front for words in ("Not as asked", "too short", "not in time", "Not known whether"))


def test_a_visit_that_was_to_be_done_again_says_beside_its_times_that_they_prove_nothing_until_it_was() -> None:
    job = clean().step("run-again", 900, pass_id="p1", said="bubbles")
    front = page(job).text.partition("Timeline")[0]
    assert "No proof of this visit: p1 is to be done again (entry" in front
    assert [one["void"] != "" for one in of(job)["passes"]].count(True) == 1
    assert "No proof of this visit" not in page(clean()).text


def test_nothing_is_said_of_what_the_procedure_leaves_out() -> None:
    left = edit(('cautions = ["', 'leaves_out = [{ question = "8", why = "opened by feel" }]\ncautions = ["'))
    late = Job(left, scope="nipples rr").run("p1", 10, 30).open("rr", "p1", 14).close("rr", 35, "p1")
    one = of(late)["passes"][0]
    assert one["opened_mark"] == "" and len(one["not_as_asked"]) == 1


def test_a_bottle_that_nobody_read_is_named_with_every_visit_whose_fluid_ran_into_it() -> None:
    read = [one["readings"] for one in of(two_spilled())["passes"]]
    assert read == [
        ["volume not known: the bottle of p3 was not read"],
        ["volume not known, nor p2's: it was spilled"],
        ["volume 273 mL"],
    ]
    read = [one["readings"] for one in of(two_spilled(again=True))["passes"]]
    assert read == [[], ["volume 90 mL, with p2's"], ["volume 273 mL"]]


def test_what_a_later_visit_gave_makes_good_for_no_bottle_left_unread_before_it() -> None:
    told = of(two_spilled(redone=P3))
    assert [one["readings"] for one in told["passes"]] == [
        ["volume not known: the bottle of p3 was not read then"],
        ["volume 60 mL", "volume of one bottle not known, nor p2's: it was spilled"],
        ["volume 273 mL"],
    ]
    told = of(two_spilled(redone=BOTH))
    assert [one["readings"] for one in told["passes"]] == [
        ["volume of one bottle not known: the bottle of p3 was not read then"],
        ["volume 60 mL, with p2's", "volume of one bottle not known, nor p2's: it was spilled"],
        ["volume 273 mL"],
    ]
    assert not [one for one in told["not_part"] if "it was spilled" in one], "the pass was done again, its bottle read"
    flushed = [one["collected_ml"] for one in told["fluid"]["flushed"]]
    assert flushed == [None, 273], flushed


@pytest.mark.parametrize(
    ("why", "lines"),
    [
        ("it was spilled", ["p3, Read the bottle, 2 times: left out, it was spilled"]),
        (
            "it was not measured",
            ["p3, Read the bottle: left out, it was spilled", "p3, Read the bottle: left out, it was not measured"],
        ),
    ],
)
def test_each_bottle_of_a_pass_that_nobody_read_is_named_with_its_reason(why: str, lines: list[str]) -> None:
    job = two_spilled().open("fr", "p3", 450).close("fr", 460, "p3")
    job.step("bottle", 470, act="skipped", pass_id="p3", said=why)
    assert [one for one in of(job)["not_part"] if "Read the bottle" in one] == lines
