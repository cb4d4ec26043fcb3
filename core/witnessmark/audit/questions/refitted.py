"""34: put back together? Wheels torqued, parts back on, accessible what must be: after the last nipple was closed."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.asked import asked, judge, last_close, words_of
from witnessmark.audit.case import Case
from witnessmark.audit.limits import inside, spell
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, no_proof
from witnessmark.procedure.model import Step

WORDS = ("wheels-torqued", "refitted", "access-clear")


def answer(case: Case) -> Verdict:
    wheels = [step for step in case.procedure.steps_after if step.what == "wheel-torque"]
    steps = asked(case, *WORDS)
    if not steps and not wheels:
        return does_not_apply("the procedure asks for nothing to be put back")
    close = last_close(case)
    if isinstance(close, str):
        return no_proof(close)
    said = [(step, word) for step in steps for word in words_of(step, *WORDS)]
    asked_by_hand = [(step, word) for step, word in said if step not in wheels or word != step.affects]
    details = [judge(case, step, word, after=close) for step, word in asked_by_hand]
    details += [_wheel(case, step, judge(case, step, after=close)) for step in wheels]
    put_back = "everything the procedure names was put back after the last nipple was closed"
    return from_details(list(dict.fromkeys(details)), put_back)


def _wheel(case: Case, step: Step, done: Detail) -> Detail:
    """A wheel's torque is done, and its readings lie within the step's limit."""
    limit = step.limit
    if limit is None or done.answer == "not met":
        return done
    for one in case.timeline.readings("wheel-torque"):
        if not inside(one.amount, limit):
            return Detail(done.subject, "not met", f"{one.amount}, asked {spell(limit)}", (one.seq,))
    return done


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(34, "refitted", "Was everything put back?", answer)]
