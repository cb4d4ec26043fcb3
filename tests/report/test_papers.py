"""Statement, key tag and blank card say what they must, and need nothing else."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from tests.audit.jobs import TECHNICIAN, Job, clean
from tests.audit.procedures import WHOLE, complete
from tests.report.test_facts import of
from tests.report.test_sheet import Page

from witnessmark.job.keys import told_run
from witnessmark.journal import bodies
from witnessmark.report.kept import Beside
from witnessmark.report.sheet import grouped, sheet
from witnessmark.report.statement import LIMITS, MOST_ON_TAG, OF_PAPERS, behind, files, statement, tag


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


def test_each_page_of_a_statement_says_which_it_is_of_how_many() -> None:
    assert '@bottom-right { content: "page " counter(page) " of " counter(pages);' in statement(of(clean()))


@pytest.mark.parametrize(
    ("states", "line"),
    [
        ([], ""),
        (["there"], "1 file attached: there, as it was attached"),
        (["there", "there"], "2 files attached: all there, as they were attached"),
        (["missing", "there", "changed"], "3 files attached: f0 (entry 1) is MISSING; f2 (entry 3) is ALTERED"),
        (["", ""], "2 files attached: they were not at hand when this was made"),
    ],
)
def test_a_statement_says_how_many_files_are_attached_and_which_are_gone(states: list[str], line: str) -> None:
    job = Job()
    for number in range(len(states)):
        job.add("attachment", {"name": f"f{number}", "sha256": str(number), "shows": "x", "size": 1}, 5)
    told = of(job, beside=Beside(files={str(number): state for number, state in enumerate(states) if state}))
    assert files(told) == line
    assert ("files " in Page(statement(told)).text.partition("Not as the")[0]) == bool(line)
    assert line in Page(statement(told)).text


def test_one_entry_is_counted_as_one() -> None:
    assert "The machine saw what 1 entry says." in Page(statement(of(Job()))).text


def test_a_paper_that_was_printed_before_is_nothing_that_a_machine_saw() -> None:
    facts = of(Job())
    machine = next(one["id"] for one in facts["people"] if one["what"] == "machine")
    facts["entries"] += [{"seq": 90 + at, "kind": kind, "by": machine} for at, kind in enumerate(OF_PAPERS)]
    assert "The machine saw what 1 entry says." in Page(statement(facts)).text


def test_a_tag_lists_what_is_open_until_the_release() -> None:
    told = of(Job().state("paused", 10, why="end of shift"))
    text = Page(tag(told)).text
    assert "NOT RELEASED: DO NOT DRIVE" in text
    assert "the job is paused: end of shift" in text
    assert all((one["title"] in text) == (one["what"] != "no proof") for one in told["open"])
    done = Page(tag(of(complete()))).text
    assert "Released by l-heron" in done
    assert "DO NOT DRIVE" not in done


def test_a_tag_says_what_was_seen_where_a_check_is_not_right() -> None:
    job = Job(WHOLE).step("leaks", 20, "leak-check", act="skipped", said="it leaks", looked=True)
    (line,) = (one for one in of(job)["open"] if "seen" in one)
    assert (line["what"], line["seen"]) == ("not met", "it leaks")
    assert f"{line['title']}: it leaks" in Page(tag(of(job))).text


@pytest.mark.parametrize("paper", [statement, tag])
def test_a_record_that_is_not_as_it_was_written_says_so_on_every_paper(paper: Callable[[dict[str, Any]], str]) -> None:
    told = of(complete())
    assert "RECORD" not in Page(paper(told)).text
    told["record"]["verdict"] = "entries missing"
    assert "RECORD ENTRIES MISSING" in Page(paper(told)).text


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
    told["standing"] = [{"text": "Nipple rear right is OPEN: close it.", "cites": [3]}]
    text = Page(tag(told)).text
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


@pytest.mark.parametrize("paper", [statement(of(clean())), tag(of(clean()))])
def test_no_paper_fetches_or_runs_anything(paper: str) -> None:
    names = {name for name, _ in Page(paper).tags}
    assert names.isdisjoint({"script", "link", "img", "iframe", "form", "a"})


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


def told_runs() -> Job:
    """Return three runs: pressed as each began and as the first ended, and told once the last had ended."""
    job = Job(grade="told").run("p1", 10, 30).run("p1", 60, None)
    began = job.add("intent", job.entries()[1].body, 100, by=TECHNICIAN, basis="typed", u=5)
    body = bodies.to_body(told_run.ran(began, "p1"))
    job.add("outcome", body, 100, by=TECHNICIAN, basis="typed", u=5)
    return job


def test_a_paper_says_of_a_told_run_what_was_pressed_and_names_no_card_where_there_was_none() -> None:
    facts = of(told_runs())
    text = Page(statement(facts)).text
    for words in (
        "One run was told by a person, who pressed started and ended;",
        "One run was told by a person, who pressed started; nobody pressed ended,",
        "One run was told by a person after the end; nobody pressed at the start,",
    ):
        assert words in text, text
    front = Page(sheet(facts)).text
    assert "card" not in text and "what is written on it" not in front
    assert "A run told once it had ended lay somewhere since the touch before." in front


@pytest.mark.parametrize("verdict", ["altered", "entries missing"])
def test_a_statement_on_a_record_that_does_not_hold_says_so_large(verdict: str) -> None:
    told = of(clean())
    told["record"]["verdict"] = verdict
    assert f"RECORD {verdict.upper()}" in Page(statement(told)).text
    assert "RECORD" not in Page(statement(of(clean()))).text


@pytest.mark.parametrize("verdict", ["altered", "entries missing"])
def test_a_tag_of_a_record_that_does_not_hold_lets_nobody_drive_whoever_released_it(verdict: str) -> None:
    told = of(clean())
    told["release"] = {"by": "lead-1", "proven": "name only", "accepted": []}
    assert "Released by lead-1" in Page(tag(told)).text
    told["record"]["verdict"] = verdict
    text = Page(tag(told)).text
    assert f"RECORD {verdict.upper()}: DO NOT DRIVE" in text and "Released by lead-1" not in text
    assert "no release holds for it" in text and "It was released by lead-1, of a record" in text


def test_a_start_that_was_refused_stands_on_the_statement_though_it_ran_afterwards() -> None:
    job = Job().run("p1", 10, 18, answer="negative", code="22").run("p1", 30, 38)
    job.add("refused", bodies.Refused(pass_id="p2", rule="pressure", why="no pressure was read"), 50)
    job.add("refused", bodies.Refused(pass_id="p2", rule="pressure", why="its pressure is too old"), 60)
    told = of(job)
    first, second = told["refused"]
    assert first.startswith("p1: the control unit refused: 22 conditionsNotCorrect (entry ")
    assert first.endswith("; it ran afterwards")
    assert second.startswith("p2, 2 times, the last: not sent: its pressure is too old (entries ")
    assert f"Asked for, and not started: {first}. {second}." in Page(statement(told)).text
