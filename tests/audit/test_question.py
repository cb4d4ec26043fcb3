"""Questions come from plugins, each by its number; a broken plugin is named."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from tests.audit.jobs import Job, clean, edit
from tests.audit.long_jobs import SHAPES
from tests.audit.shipped import QUESTIONS, SHIPPED, ask

from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, collect, hookimpl
from witnessmark.audit.run import audit, find
from witnessmark.audit.verdict import Detail, Verdict, from_details, worst
from witnessmark.errors import InputError, PluginError
from witnessmark.journal import bodies


def ask_nothing(case: Case) -> Verdict:
    return Verdict("met", f"{len(case.entries)} entries", cites=(case.entries[0].seq,))


class Plugin:
    """A plugin that brings questions."""

    def __init__(self, *questions: Question) -> None:
        self.questions = questions

    @hookimpl
    def audit_questions(self) -> list[Question]:
        return list(self.questions)


class Misspelt:
    @hookimpl
    def audit_question(self) -> list[Question]:
        return []


def test_a_plugins_question_stands_among_the_shipped_ones() -> None:
    own = Plugin(Question(1001, "own", "Own?", ask_nothing))
    questions = collect([*SHIPPED, ("own", own)])
    assert questions[-1].id == "own"
    assert [one.number for one in questions] == sorted(one.number for one in questions)


def test_a_number_that_is_taken_is_refused_and_names_the_plugin() -> None:
    taken = Plugin(Question(4, "again", "Again?", ask_nothing))
    with pytest.raises(PluginError, match="plugin mine"):
        collect([*SHIPPED, ("mine", taken)])


def test_a_misspelt_hook_is_named() -> None:
    with pytest.raises(PluginError, match="audit_question"):
        collect([("mine", Misspelt())])


def test_a_question_that_breaks_answers_no_proof_and_harms_no_other() -> None:
    def broken(case: Case) -> Verdict:
        raise ZeroDivisionError("oh")

    questions = [Question(1, "broken", "Broken?", broken), Question(2, "fine", "Fine?", ask_nothing)]
    first, second = audit(Job().entries(), questions).findings
    assert (first.answer, "ZeroDivisionError: oh" in first.text) == ("no proof", True)
    assert second.answer == "met"


def test_a_question_that_ends_the_program_ends_only_itself() -> None:
    def leave(case: Case) -> Verdict:
        raise SystemExit(5)

    questions = [Question(1, "leaves", "Leaves?", leave), Question(2, "fine", "Fine?", ask_nothing)]
    first, second = audit(Job().entries(), questions).findings
    assert (first.answer, second.answer) == ("no proof", "met")


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (None, "it gave NoneType and no verdict"),
        ("met", "it gave str and no verdict"),
        (Verdict("perhaps", "well"), "'perhaps' is no answer"),
        (Verdict("no proof", "well", (Detail("all", "maybe", "well"),)), "'maybe' is no answer"),
        (Verdict("met", "well", (3,)), "not a tuple of Detail; entries go into cites=(seq,)"),
        (Verdict("met", "well", cites=3), "not a tuple of the numbers of entries: write cites=(seq,)"),
        (Verdict("met", "all is well"), "rests on no entry"),
        (Verdict("met", "all is well", cites=(9999,)), "rests on entry 9999, which is not in the record"),
        (Verdict("met", "well", (Detail("all", "met", "well", (9999,)),)), "rests on entry 9999"),
    ],
)
def test_what_a_question_gives_that_is_no_verdict_or_rests_on_nothing_is_no_proof(given: Any, said: str) -> None:
    questions = [Question(1, "odd", "Odd?", lambda case: given), Question(2, "fine", "Fine?", ask_nothing)]
    first, second = audit(Job().entries(), questions).findings
    assert first.answer == "no proof" and said in first.text
    assert second.answer == "met"


CHANGES = [
    lambda case: case.entries[1].body.clear(),
    lambda case: case.entries[0].body["vehicle"].update(id="another"),
    lambda case: case.opened.procedure.clear(),
    lambda case: case.timeline.entered.clear(),
    lambda case: case.bodies.clear(),
    lambda case: case.all_of(bodies.Reading).clear(),
    lambda case: case.once("void", lambda: {"p1": 3}),
]
"""What a question might do to its case by a slip."""


def slips(number: int, change: Callable[[Case], object]) -> Question:
    def answer(case: Case) -> Verdict:
        change(case)
        return ask_nothing(case)

    return Question(number, f"slips-{number}", "Slips?", answer, "plugin a (depot 1)")


def test_what_a_plugins_questions_do_to_their_case_reaches_no_other() -> None:
    own, entries = list(QUESTIONS.values()), clean().entries()
    alone = audit(entries, own).findings
    asked = [slips(1001 + number, change) for number, change in enumerate(CHANGES)]
    other = Question(2000, "other", "Other?", ask_nothing, "plugin b (depot 1)")
    found = audit(entries, [*asked, *own, other])
    assert found.findings[len(asked) : -1] == alone and found.findings[-1].answer == "met"
    assert found.case.entries == tuple(entries) == tuple(clean().entries())


@pytest.mark.parametrize("change", CHANGES[:4])
def test_a_question_that_changes_what_it_is_given_answers_nothing_and_is_named(
    change: Callable[[Case], object],
) -> None:
    (found,) = audit(clean().entries(), [slips(1001, change)]).findings
    assert found.answer == "no proof"
    assert found.text == (
        "this question, of plugin a (depot 1), broke and answered nothing: it changes what it is given to read"
    )


@pytest.mark.parametrize("shape", ["many samples", "a correction at each visit"])
def test_a_copy_of_the_case_answers_every_question_as_the_case_itself(shape: str) -> None:
    entries, own = SHAPES[shape](2), list(QUESTIONS.values())
    lent = [replace(one, plugin="plugin a (depot 1)") for one in own]
    assert audit(entries, own).findings == audit(entries, lent).findings


def test_a_question_the_procedure_leaves_out_is_printed_with_its_reason() -> None:
    procedure = edit(("[pump]", '[[leaves_out]]\nquestion = "5"\nwhy = "any order will do"\n\n[pump]'))
    finding = ask(5, clean(procedure))
    assert finding.answer == "does not apply"
    assert finding.text == "the procedure leaves it out: any order will do"


def test_the_checks_that_steps_ask_for_are_judged_though_their_question_is_left_out() -> None:
    """Where one of several checks is not asked for, the others are not left out with it."""
    out = '[[leaves_out]]\nquestion = "26"\nwhy = "it is never driven"\n\n[pump]'
    bare, leaks = edit(("[pump]", out)), '[[steps_after]]\nid = "leaks"\ntext = "Look"\naffects = "leak-check"\n\n'
    assert ask(26, clean(bare)).text == "the procedure leaves it out: it is never driven"
    found = ask(26, clean(edit(("[pump]", leaks + out))))
    assert found.answer == "no proof"
    assert found.text == "Look: no entry; what no step asks the procedure leaves out: it is never driven"


def test_what_stands_against_the_job_is_told_though_its_question_is_left_out_for_want_of_a_step() -> None:
    out = '[[leaves_out]]\nquestion = "15"\nwhy = "nobody reads the bottles"\n\n[pump]'
    left = edit(("[pump]", out), ('cautions = ["', 'reservoir = "400 mL"\ncautions = ["'))
    assert ask(15, clean(left)).text == "the procedure leaves it out: nobody reads the bottles"
    empty = clean(left).step("said-empty", 900, affects="empty")
    assert ask(15, empty).answer == "not met"


def test_an_empty_list_of_details_is_no_proof() -> None:
    assert from_details([], "all met").answer == "no proof"
    assert worst([]) == "no proof"
    assert worst(["met", "does not apply"]) == "met"
    assert worst(["met", "no proof", "not met"]) == "not met"


def test_a_subject_is_named_once_and_pairs_stay_apart() -> None:
    def said(*subjects: str) -> str:
        return from_details([Detail(one, "no proof", "4 entries within 2.0 s") for one in subjects], "").text

    assert said("tech-7", "tech-7", "tech-9") == "tech-7 and tech-9: 4 entries within 2.0 s"
    assert said("rear left and rear right", "front left and front right").startswith("rear left and rear right; front")


def test_a_finding_cites_what_its_details_cite() -> None:
    question = next(one for one in collect(SHIPPED) if one.number == 16)
    assert find(question, clean().case()).cites == (4, 8, 12, 16, 20, 24)


def test_entries_of_two_jobs_or_none_are_refused() -> None:
    with pytest.raises(InputError, match="2 jobs"):
        audit([*Job(name="A").entries(), *Job(name="B").entries()], [])
    with pytest.raises(InputError, match="no entry"):
        audit([], [])
    with pytest.raises(InputError, match="opens the job is missing"):
        audit(Job().open("rr", "p1", 10).entries()[1:], [])
