"""26: leak check, pedal and road test? Each that the procedure asks for, after the last nipple was closed.

Where the vehicle was made safe once more after that, or something was mended, only what came after it counts. A yes
that comes after a no counts only where the record says what was mended between; each no is named either way, with each
mend after it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from msgspec import structs

from witnessmark.audit.case import Case
from witnessmark.audit.grounds.asked import NOT_SO, after_all, asked, done, words_of
from witnessmark.audit.grounds.lasting import lasted
from witnessmark.audit.grounds.mends import every_mend
from witnessmark.audit.grounds.overturned import entered, looks, overturned, spell_looks
from witnessmark.audit.grounds.put_back import left_from
from witnessmark.audit.grounds.sequence import Mark, last
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import NOT_RIGHT, Act
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details
from witnessmark.procedure.model import Step
from witnessmark.procedure.words import FINAL_CHECKS


def answer(case: Case) -> Verdict:
    steps = asked(case, *FINAL_CHECKS)
    if not steps:
        return does_not_apply("the procedure asks for no leak check, pedal check or road test")
    since = since_work(case)
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


def since_work(case: Case) -> Mark | str:
    """Return what each check has to come after: the work, and what was mended last because a check was not right."""
    since = left_from(case)
    changed = [one.mark for one in every_mend(case) if one.changes]
    if isinstance(since, str) or not changed:
        return since
    return last(case, [since, *changed], f"{since.name} and {changed[-1].name}")


def _checked(case: Case, step: Step, word: str, since: Mark | str) -> Detail:
    """Judge one check, and name each no with what was mended after it, also where no yes came then."""
    found = _long_enough(case, step, after_all(case, step, word, since))
    acts = done(case, step, word)
    changed = overturned(case, acts)
    if changed is None:
        return _each_no(case, found, acts)
    cites = (*found.cites, *changed.cites)
    if found.answer == "met":
        return Detail(found.subject, "met" if changed.mended else "no proof", changed.text, cites)
    return structs.replace(found, text=f"{found.text}; {changed.text}", cites=cites)


def _each_no(case: Case, found: Detail, acts: Sequence[Act]) -> Detail:
    """Return a check that is not right with every no, and every mend, in order; one no alone is told already."""
    seen = looks(case, acts)
    if not seen or (len(seen) == 1 and not seen[0].then):
        return found
    first = found.text
    if acts[-1].looked:
        first = f"done, and {NOT_SO}" if any(act.done for act in acts) else NOT_RIGHT
    cites = (seq for one in seen for seq in (one.act.seq, *one.cites))
    text = f"{first}: {spell_looks(seen, entered)}"
    return structs.replace(found, text=text, cites=tuple(dict.fromkeys((*found.cites, *cites))))


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(26, "final-checks", "Leak check, pedal and road test done?", answer)]
