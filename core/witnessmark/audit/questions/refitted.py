"""34: put back together? Wheels torqued, parts back on, accessible what must be: after the last nipple was closed."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.asked import asked, judge, last_close
from witnessmark.audit.case import Case
from witnessmark.audit.limits import inside, spell
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, no_proof
from witnessmark.procedure.model import Step


def answer(case: Case) -> Verdict:
    wheels = [step for step in case.procedure.steps_after if step.what == "wheel-torque"]
    steps = [step for step in asked(case, "wheels-torqued", "refitted", "access-clear") if step not in wheels]
    if not steps and not wheels:
        return does_not_apply("the procedure asks for nothing to be put back")
    close = last_close(case)
    if close is None:
        return no_proof("no entry says that any nipple was closed")
    details = [judge(case, step, after=close) for step in steps]
    details += [_wheel(case, step, judge(case, step, after=close)) for step in wheels]
    return from_details(details, "everything the procedure names was put back after the last nipple was closed")


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
