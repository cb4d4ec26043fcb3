"""Statement, key tag and blank card say what they must, and need nothing else."""

from __future__ import annotations

from typing import Any

import pytest
from tests.audit.jobs import TRUCK, Job, clean, edit
from tests.audit.procedures import WHOLE, complete
from tests.report.test_facts import of
from tests.report.test_sheet import Page

from witnessmark.journal import bodies
from witnessmark.procedure.load import digest, to_document
from witnessmark.report.card import card
from witnessmark.report.sheet import grouped
from witnessmark.report.statement import LIMITS, MOST_ON_TAG, behind, statement, tag


def test_a_statement_says_what_is_shown_what_is_not_and_what_cannot_be() -> None:
    told = of(clean())
    text = Page(statement(told)).text
    for one in told["findings"]:
        assert (one["title"] in text) == (one["answer"] != "does not apply")
    assert all(limit in text for limit in LIMITS)
    assert "t-otter entered or did what" in text
    assert grouped(told["record"]["head"]) in text


def test_a_statement_without_a_fault_says_nothing_under_it() -> None:
    text = Page(statement(of(complete()))).text
    assert "Not as the procedure asks : nothing" in text


def test_one_entry_is_counted_as_one() -> None:
    assert "The machine saw what 1 entry says." in Page(statement(of(Job()))).text


def test_a_tag_lists_what_is_open_until_the_release() -> None:
    told = of(Job().state("paused", 10, why="end of shift"))
    text = Page(tag(told)).text
    assert "NOT RELEASED: DO NOT DRIVE" in text
    assert "the job is paused: end of shift" in text
    assert all((one["title"] in text) == (one["what"] != "no proof") for one in told["open"])
    done = Page(tag(of(complete()))).text
    assert "Released by l-heron" in done
    assert "DO NOT DRIVE" not in done


def opened(unmet: int, unproven: int, endless: int = 0) -> dict[str, Any]:
    """Return the facts of a job with so many questions of each answer open, and so many runs without a known end."""
    told = of(Job())
    counts = {"no known end": endless, "no proof": unproven, "not met": unmet}
    of_each = [
        {"what": what, "title": f"{what} <{number}>", "text": ""}
        for what, count in counts.items()
        for number in range(count)
    ]
    return {**told, "open": [told["open"][0], *of_each]}


def test_a_tag_of_a_job_hardly_begun_counts_what_has_no_proof_and_says_how_to_see_it() -> None:
    told = of(Job())
    text = Page(tag(told, ["Nipple rear right is OPEN: close it."])).text
    assert told["counts"]["no proof"] > 20
    assert f"{told['counts']['no proof']} questions have no proof yet" in text
    assert f"The job's sheet lists each, and so does witnessmark audit {told['job']['id']}" in text
    assert not [one["title"] for one in told["open"] if one["what"] == "no proof" and one["title"] in text]
    assert "NOT RELEASED" in text


def test_a_tag_names_what_is_not_met_before_what_has_no_proof() -> None:
    few = Page(tag(opened(unmet=2, unproven=3))).text
    assert few.index("not met <") < few.index("no proof <")
    assert few.count("no proof <") == 3 and "lists each" not in few
    more = Page(tag(opened(unmet=2, unproven=30))).text
    assert more.count("not met <") == 2 and "no proof <" not in more
    assert "and 30 more have no proof yet" in more


def test_a_tag_never_names_more_than_fits_and_hides_no_count() -> None:
    text = Page(tag(opened(unmet=20, unproven=1, endless=20))).text
    assert text.count("not met <") == MOST_ON_TAG
    assert f"and {20 - MOST_ON_TAG} more are not met" in text
    assert "and 1 more has no proof yet" in text
    assert "and 17 more without a known end" in text


def test_a_card_has_every_step_every_pass_and_every_caution() -> None:
    text = Page(card(to_document(WHOLE), ["p1", "p2", "p3", "p4"], digest(WHOLE))).text
    for step in (*WHOLE.steps_before, *WHOLE.steps_after_each_pass, *WHOLE.steps_after):
        assert step.text in text
    for nipple in WHOLE.nipples:
        assert nipple.name in text
    assert all(caution in text for caution in WHOLE.cautions)
    assert WHOLE.physical_fallback in text
    assert "entered afterwards" in text
    assert "this procedure is invented" in text


def test_a_card_has_a_line_for_each_nipple_of_a_pass() -> None:
    both = edit(('nipples = ["fl"]', 'nipples = ["fl", "fr"]'))
    text = Page(card(to_document(both), ["p4"], digest(both))).text
    assert text.count("capped") == 2


def test_a_card_asks_for_clear_fluid_only_where_the_pass_does() -> None:
    assert "clear" in Page(card(to_document(TRUCK), ["p4"], digest(TRUCK))).text
    unclear = edit(('nipples = ["fl"]', 'nipples = ["fl"]\nclear = false'))
    assert "clear" not in Page(card(to_document(unclear), ["p4"], digest(unclear))).text


def test_a_card_holds_only_the_passes_of_the_scope() -> None:
    text = Page(card(to_document(TRUCK), ["p2"], digest(TRUCK))).text
    assert "rear left" in text
    assert "rear right" not in text


@pytest.mark.parametrize("paper", [statement(of(clean())), tag(of(clean())), card(to_document(TRUCK), ["p1"], "00")])
def test_no_paper_fetches_or_runs_anything(paper: str) -> None:
    names = {name for name, _ in Page(paper).tags}
    assert names.isdisjoint({"script", "link", "img", "iframe", "form", "a"})


def test_a_card_says_how_the_vehicle_is_woken_and_what_that_energises() -> None:
    wake = {"how": "Open the door", "energises": "The pump"}
    text = Page(card({**to_document(TRUCK), "wake": wake}, ["p1"], digest(TRUCK))).text
    assert "Open the door" in text and "The pump" in text


@pytest.mark.parametrize("group", ["steps_before_each_pass", "steps_after_each_pass"])
def test_a_card_keeps_cautions_and_second_persons_of_what_is_done_at_each_pass(group: str) -> None:
    step = {"id": "hose", "text": "Hose on", "caution": "Mind the eyes", "person": "second"}
    text = Page(card({**to_document(TRUCK), group: [step]}, ["p1"], "00")).text
    assert "Hose on (second person) Take care: Mind the eyes" in text


def test_a_statement_says_whose_entries_are_behind_each_finding() -> None:
    told = of(clean().run("p1", 800, 803))
    short = next(one for one in told["findings"] if one["id"] == "duration")
    assert (short["answer"], behind(told, short)) == ("not met", "the machine")
    opened = next(one for one in told["findings"] if one["id"] == "closed")
    assert behind(told, opened) == "t-otter"
    assert behind(told, {**opened, "details": [], "cites": []}) == ""
    assert "of the machine)" in Page(statement(told)).text


@pytest.mark.parametrize(
    ("grade", "words"),
    [
        ("sent", "One run was sent by this tool"),
        ("heard", "One run was heard from another tester"),
        ("told", "One run was told by a person"),
    ],
)
def test_a_statement_says_what_the_runs_rest_on_by_what_was_done(grade: bodies.Grade, words: str) -> None:
    """Not by the grade that the job was opened with: one job may mix all three."""
    told = of(Job(grade=grade).open("rr", "p1", 100).run("p1", 104, 124).close("rr", 130, "p1"))
    told["job"]["grade"] = "sent"
    text = Page(statement(told)).text
    assert words in text
    assert all((one in text) == (one in words) for one in ("was sent", "was heard", "was told"))


@pytest.mark.parametrize("verdict", ["altered", "entries missing"])
def test_a_statement_on_a_record_that_does_not_hold_says_so_large(verdict: str) -> None:
    told = of(clean())
    told["record"]["verdict"] = verdict
    assert f"RECORD {verdict.upper()}" in Page(statement(told)).text
    assert "RECORD" not in Page(statement(of(clean()))).text


def test_a_card_has_lines_for_what_may_be_done_again_and_only_where_something_may() -> None:
    repeats = edit(("[pump]", '[[steps_after]]\nid = "leaks"\ntext = "Nothing is wet"\nmay_repeat = true\n\n[pump]'))
    text = Page(card(to_document(repeats), ["p1"], digest(repeats))).text
    assert "Nothing is wet leaks" in text.partition("Done again")[2]
    assert "Done again" not in Page(card(to_document(WHOLE), ["p1"], digest(WHOLE))).text
