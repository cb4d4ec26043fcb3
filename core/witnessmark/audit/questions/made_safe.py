"""36: made safe before, service modes left after? Before the first nipple opens; after the last is closed."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.asked import asked, first_open, judge, last_close
from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details


def answer(case: Case) -> Verdict:
    before = asked(case, "made-safe", "service-mode-on")
    after = asked(case, "service-mode-off")
    if not before and not after:
        return does_not_apply("the procedure names no step that makes safe and no service mode")
    opened, closed = first_open(case), last_close(case)
    details = [
        judge(case, step, before=opened) if opened else _nothing(step.text, "no entry says that any nipple was opened")
        for step in before
    ]
    details += [
        judge(case, step, after=closed) if closed else _nothing(step.text, "no entry says that any nipple was closed")
        for step in after
    ]
    said = ["made safe before the first nipple was opened"] if before else []
    said += ["service modes left after the last was closed"] if after else []
    return from_details(details, ", ".join(said))


def _nothing(subject: str, why: str) -> Detail:
    return Detail(subject, "no proof", why)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(36, "made-safe", "Made safe before, service modes left after?", answer)]
