"""26: leak check, pedal and road test? Each that the procedure asks for, after the last nipple was closed."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.asked import asked, judge, last_close
from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.verdict import Verdict, does_not_apply, from_details, no_proof


def answer(case: Case) -> Verdict:
    steps = asked(case, "leak-check", "pedal-check", "road-test")
    if not steps:
        return does_not_apply("the procedure asks for no leak check, pedal check or road test")
    close = last_close(case)
    if close is None:
        return no_proof("no entry says that any nipple was closed")
    return from_details([judge(case, step, after=close) for step in steps], "each check was done at the end")


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(26, "final-checks", "Leak check, pedal and road test done?", answer)]
