"""13: was the pressure over the maximum? Every reading of the feed against the highest that the procedure allows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.limits import inside
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Gauge
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
    details += _unread(case, readings)
    return from_details(details, f"no reading of the feed was above {highest}")


def _unread(case: Case, readings: Sequence[Gauge]) -> Iterator[Detail]:
    """Name each time that the feed was put under pressure, or a pass begun that asks for it, and nobody read it."""
    acts = case.feed_acts
    ends = [act.seq for act in acts] + [case.entries[-1].seq + 1]
    for act, end in zip(acts, ends[1:], strict=True):
        if act.affects == "pressurise" and not any(act.seq <= one.seq < end for one in readings):
            yield Detail(f"entry {act.seq}", "no proof", "put under pressure, and no reading of it", (act.seq,))
    since = -1
    for one in case.timeline.openings:
        visit = next((visit for visit in case.plan if visit.id == one.pass_id and visit.pressure), None)
        if visit is None or one.opened is None:
            continue
        if not any(gauge.pass_id == visit.id or since < gauge.seq < one.opened for gauge in readings):
            yield Detail(visit.id, "no proof", "no reading of the feed for this pass", (one.opened,))
        since = one.opened


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(13, "pressure-maximum", "Was the feed kept under its highest pressure?", answer)]
