"""26: leak check, pedal and road test? Each that the procedure asks for, after the last nipple was closed."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.asked import asked, judge, last_close, words_of
from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.verdict import Verdict, does_not_apply, from_details, no_proof

CHECKS = ("leak-check", "pedal-check", "road-test")


def answer(case: Case) -> Verdict:
    steps = asked(case, *CHECKS)
    if not steps:
        return does_not_apply("the procedure asks for no leak check, pedal check or road test")
    close = last_close(case)
    if isinstance(close, str):
        return no_proof(close)
    details = [judge(case, step, word, after=close) for step in steps for word in words_of(step, *CHECKS)]
    return from_details(list(dict.fromkeys(details)), "each check was done at the end")


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(26, "final-checks", "Leak check, pedal and road test done?", answer)]
