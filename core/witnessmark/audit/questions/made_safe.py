"""36: made safe before, service modes left after? Before the first nipple opens; after the last is closed.

A reading that shows whether it is safe, as of a stored pressure, counts where it was within its limits each time that a
nipple was opened. What was undone behind the passes, as a service mode that was left, is made safe again before each
opening after that. Where a person only says that it was before a mend, the answer says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from witnessmark.audit.case import Case
from witnessmark.audit.grounds.asked import asked, first_open, judge, last_close, words_of
from witnessmark.audit.grounds.safe_readings import read_safe
from witnessmark.audit.grounds.sequence import Mark, last, not_after
from witnessmark.audit.grounds.undone import TOLD, undone
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details
from witnessmark.procedure.model import Step

ON = "service-mode-on"
BEFORE = ("made-safe", ON)
AFTER = "service-mode-off"


def answer(case: Case) -> Verdict:
    before = asked(case, *BEFORE)
    after = asked(case, AFTER)
    read = read_safe(case)
    if not before and not after and not read:
        return does_not_apply("the procedure names no step that makes safe and no service mode")
    opened, closed = first_open(case), last_close(case)
    details = [_before(case, step, word, opened) for step in before for word in words_of(step, *BEFORE)]
    details += [_after(case, step, closed) for step in after]
    details += read
    behind = list(undone(case))
    details += behind
    said = ["made safe before the first nipple was opened"] if before or read else []
    said += ["service modes left after the last was closed"] if after else []
    verdict = from_details(details, ", ".join(said))
    told = (f"{one.subject.partition(': ')[0]}: {one.text}" for one in behind if one.text.startswith(TOLD))
    return replace(verdict, text="; ".join((verdict.text, *dict.fromkeys(told))))


def _before(case: Case, step: Step, word: str, opened: Mark | str) -> Detail:
    return judge(case, step, word, before=opened) if isinstance(opened, Mark) else _unknown(case, step, word, opened)


def _after(case: Case, step: Step, closed: Mark | str) -> Detail:
    return (
        judge(case, step, AFTER, after=_entered(case, closed))
        if isinstance(closed, Mark)
        else _unknown(case, step, AFTER, closed)
    )


def _entered(case: Case, closed: Mark) -> Mark:
    """Return the last closing, or when a service mode was last entered after it: it has to be left once more then."""
    on = [act for act in case.timeline.acts_affecting(ON) if not_after(case, closed, act) == "yes"]
    return last(case, on, "the service mode was last entered") if on else closed


def _unknown(case: Case, step: Step, word: str, why: str) -> Detail:
    """Judge a step of which nobody can say whether it was in time: one that was never done was not."""
    found = judge(case, step, word)
    return found if found.answer == "not met" else Detail(step.text, "no proof", why)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(36, "made-safe", "Made safe before, service modes left after?", answer)]
