"""11: under pressure throughout? Each nipple opening must lie inside the time that the feed was under pressure.

The feed counts as under pressure from a reading within the pass's band on, while nothing says otherwise: not after it
was let off, and not surely after a later reading below the band that it must keep. What a reading shows holds until
the next act on the feed or the next reading.

Two readings prove nothing of an opening between them that is too far from either, that was open too long or while the
job lay, that shares them with another visit, or at which the reservoir may have run empty: the rule, and how far is too
far, is in `unwatched` (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.grounds import unwatched
from witnessmark.audit.grounds.feed import before, opened_again
from witnessmark.audit.grounds.sequence import closed, not_after, opened, while_open
from witnessmark.audit.grounds.unwatched import Unwatched
from witnessmark.audit.limits import inside, spell
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Gauge, Opening
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, worst
from witnessmark.procedure.model import Limit, Pass


def answer(case: Case) -> Verdict:
    asked = [one for one in case.plan if one.pressure or case.procedure.pressure_limit]
    if not asked:
        return does_not_apply("the procedure asks for no feed pressure")
    watch = unwatched.of(case)
    details = [_visit(case, watch, one, name) for one in asked for name in one.nipples]
    return from_details(details, "each nipple was open only while the feed was under its pressure")


def _visit(case: Case, watch: Unwatched, one: Pass, name: str) -> Detail:
    subject = f"{one.id}, {case.nipple(name).name}"
    openings = case.timeline.openings_of(name, one.id)
    if not openings:
        return Detail(subject, "no proof", "no entry says when it was open")
    parts = [_opening(case, watch, one, opening) for opening in openings]
    answer = worst(part.answer for part in parts)
    worst_of = next(part for part in parts if part.answer == answer)
    decides = opened_again(case, one, list(zip(openings, parts, strict=True)), worst_of)
    return Detail(subject, answer, decides.text, tuple(seq for part in parts for seq in part.cites))


def _opening(case: Case, watch: Unwatched, one: Pass, opening: Opening) -> Detail:
    """Judge by what is known before it opened, while it was open, and after it closed; the worst decides."""
    if opening.opened is None:
        return Detail(one.id, "no proof", "no entry says when it was opened", opening.cites)
    parts = (before(case, one, opening), _while(case, one, opening))
    answer = worst(part.answer for part in parts)
    decides = next(part for part in parts if part.answer == answer)
    cites = (*opening.cites, *(seq for part in parts for seq in part.cites))
    if answer == "met":
        first, then = ([watch.feed[seq] for seq in part.cites] for part in parts)
        why = watch.open_too_long(opening) or watch.too_far(opening, first, then[0])
        if why is not None:
            return Detail(one.id, "no proof", why[0], (*cites, *why[1]))
    return Detail(one.id, answer, decides.text, cites)


def _while(case: Case, one: Pass, opening: Opening) -> Detail:
    kept = case.procedure.pressure_limit or one.pressure or Limit()
    low = Limit(low=kept.low)
    near = case.feed_read_at.within(*opening.open.possible)
    acts = case.fed_at.within(*opening.open.possible)
    let_off = [(act, while_open(case, opening, act)) for act in acts if act.affects != "pressurise"]
    too_low = [(one, while_open(case, opening, one)) for one in near if not inside(one.amount, low)]
    for act, sure in let_off:
        if sure == "yes":
            return Detail("", "not met", "the feed's pressure was let off while it was open", (act.seq,))
    for reading, sure in too_low:
        if sure == "yes":
            return Detail("", "not met", f"{reading.amount} read while open, asked {spell(low)}", (reading.seq,))
    if opening.closed is None:
        return Detail("", "no proof", "no entry closes it")
    for act, sure in let_off:
        if sure == "maybe":
            return Detail("", "no proof", "the feed's pressure may have been let off before it closed", (act.seq,))
    for reading, sure in too_low:
        if sure == "maybe":
            text = f"{reading.amount} read, perhaps while open, asked {spell(low)}"
            return Detail("", "no proof", text, (reading.seq,))
    return _after(case, opening, low)


def _after(case: Case, opening: Opening, low: Limit) -> Detail:
    """A low reading after it closed, before anyone acted on the feed, leaves open when the pressure fell."""
    end = closed(opening)
    reading = case.feed_read_at.first(end.at.low, end.at.high, lambda one: not_after(case, end, one) == "yes")
    if reading is not None and not _touched(case, opening, reading):
        if not inside(reading.amount, low):
            text = f"{reading.amount} at the next reading, asked {spell(low)}; nobody saw when it fell"
            return Detail("", "no proof", text, (reading.seq,))
        return Detail("", "met", f"{reading.amount} at the next reading", (reading.seq,))
    shown = [reading.seq] if reading is not None else []
    act = case.fed_at.first(end.at.low, end.at.high, lambda one: not_after(case, end, one) == "yes")
    shown += [act.seq] if act is not None else []
    if not shown:
        return Detail("", "no proof", "no entry about the feed surely after it was closed says until when it held")
    return Detail("", "met", "nothing let the pressure off while it was open", (min(shown),))


def _touched(case: Case, opening: Opening, reading: Gauge) -> bool:
    """Say whether somebody surely acted on the feed between an opening and a reading."""
    start = opened(opening)
    between = case.fed_at.within(start.at.low, reading.at.high)
    return any(not_after(case, start, one) == "yes" == not_after(case, one, reading) for one in between)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(11, "pressure", "Under pressure throughout?", answer)]
