"""26: leak check, pedal and road test? Each that the procedure asks for, after the last nipple was closed.

Where the vehicle was made safe once more after that, or something was mended, only what came after it counts. A yes
that comes after a no counts only where the record says what was mended between; the no is named either way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from msgspec import structs

from witnessmark.audit.asked import asked, done, judge, words_of
from witnessmark.audit.case import Case
from witnessmark.audit.lasting import lasted
from witnessmark.audit.mends import every_mend
from witnessmark.audit.overturned import overturned
from witnessmark.audit.put_back import left_from
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.sequence import Mark, last
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, no_proof
from witnessmark.procedure.model import Step
from witnessmark.procedure.words import FINAL_CHECKS


def answer(case: Case) -> Verdict:
    steps = asked(case, *FINAL_CHECKS)
    if not steps:
        return does_not_apply("the procedure asks for no leak check, pedal check or road test")
    since = _since(case)
    if isinstance(since, str):
        if any(act.done for step in steps for act in done(case, step)):
            return no_proof(since)
        details = [judge(case, step, word) for step in steps for word in words_of(step, *FINAL_CHECKS)]
        return from_details(list(dict.fromkeys(details)), "")
    details = [_checked(case, step, word, since) for step in steps for word in words_of(step, *FINAL_CHECKS)]
    details = list(dict.fromkeys(details))
    verdict = from_details(details, "each check was done at the end")
    mended = [f"{one.subject}: {one.text}" for one in details if one.answer == "met" and one.text != "done"]
    return replace(verdict, text="; ".join([verdict.text, *mended]))


def _long_enough(case: Case, step: Step, found: Detail) -> Detail:
    """Return a check as it was judged; one that was answered sooner than it takes at least shows nothing."""
    if found.answer != "met":
        return found
    seen = next((act for act in done(case, step) if act.seq == found.cites[0]), None)
    took = lasted(case, seen) if seen is not None else None
    return found if took is None or took.sure == "yes" else Detail(found.subject, "no proof", took.text, took.cites)


def _since(case: Case) -> Mark | str:
    """Return what each check has to come after: the work, and what was mended last because a check was not right."""
    since = left_from(case)
    changed = [one.mark for one in every_mend(case) if one.changes]
    if isinstance(since, str) or not changed:
        return since
    return last(case, [since, *changed], f"{since.name} and {changed[-1].name}")


def _checked(case: Case, step: Step, word: str, since: Mark) -> Detail:
    """Judge one check, and say of a no before its yes what became of it."""
    found = _long_enough(case, step, judge(case, step, word, after=since))
    changed = overturned(case, done(case, step, word))
    if changed is None:
        return found
    cites = (*found.cites, *changed.cites)
    if found.answer == "met":
        return Detail(found.subject, "met" if changed.mended else "no proof", changed.text, cites)
    return structs.replace(found, text=f"{found.text}; {changed.text}", cites=cites)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(26, "final-checks", "Leak check, pedal and road test done?", answer)]
