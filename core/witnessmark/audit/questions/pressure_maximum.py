"""13: was the pressure over the maximum? Every reading of the feed against the highest that the procedure allows."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.limits import inside
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, no_proof
from witnessmark.procedure.model import Limit


def answer(case: Case) -> Verdict:
    highest = case.procedure.pressure_limit.high if case.procedure.pressure_limit else ""
    if not highest:
        return does_not_apply("the procedure gives no highest pressure of the feed")
    readings = case.timeline.readings("feed-pressure")
    if not readings:
        return no_proof("no reading of the feed's pressure")
    details = [
        Detail(
            one.pass_id or f"entry {one.seq}",
            "met" if inside(one.amount, Limit(high=highest)) else "not met",
            f"{one.amount} read, at most {highest}",
            (one.seq,),
        )
        for one in readings
    ]
    return from_details(details, f"no reading of the feed was above {highest}")


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(13, "pressure-maximum", "Was the feed kept under its highest pressure?", answer)]
