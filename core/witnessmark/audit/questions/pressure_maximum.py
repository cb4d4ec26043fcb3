"""13: was the pressure over the maximum? Every reading of the feed against the highest that the procedure allows.

A planned pass that asks for a pressure and has no entry at all is no proof; a closing alone shows that it was begun.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.grounds.sequence import any_between, opened
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
    limit = Limit(high=highest)
    details = [_reading(case, one, limit) for one in readings]
    details += _unread(case, readings)
    return from_details(details, f"no reading of the feed was above {highest}")


def _reading(case: Case, one: Gauge, limit: Limit) -> Detail:
    """Judge one reading. One that was read again at once was a slip or an excess let off: nothing settles which."""
    subject, text = one.pass_id or f"entry {one.seq}", f"{one.amount} read, at most {limit.high}"
    if inside(one.amount, limit):
        return Detail(subject, "met", text, (one.seq,))
    later = case.read_again(one)
    if later is not None and inside(later.amount, limit):
        text += f"; at once read again as {later.amount}: a slip, or an excess that was let off"
        return Detail(subject, "no proof", text, (one.seq, later.seq))
    return Detail(subject, "not met", text, (one.seq,))


def _unread(case: Case, readings: Sequence[Gauge]) -> Iterator[Detail]:
    """Name each time that the feed was put under pressure, or a pass begun that asks for it, and nobody read it."""
    acts, read = case.feed_acts, [one.seq for one in readings]
    ends = [act.seq for act in acts] + [case.entries[-1].seq + 1]
    for act, end in zip(acts, ends[1:], strict=True):
        if act.affects == "pressurise" and not any_between(read, act.seq - 1, end):
            yield Detail(f"entry {act.seq}", "no proof", "put under pressure, and no reading of it", (act.seq,))
    since = -1
    asked = {visit.id for visit in case.plan if visit.pressure}
    for one in case.timeline.openings:
        if one.pass_id not in asked:
            continue
        begun = opened(one).seq
        if not case.timeline.readings("feed-pressure", one.pass_id) and not any_between(read, since, begun):
            yield Detail(one.pass_id, "no proof", "no reading of the feed for this pass", (begun,))
        since = begun
    for visit in case.untouched:
        if visit.pressure and not case.timeline.readings("feed-pressure", visit.id):
            yield Detail(visit.id, "no proof", "no entry of what was done, nor a reading of the feed for this pass")


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(13, "pressure-maximum", "Was the feed kept under its highest pressure?", answer)]
