"""24: was the feed removed safely? Every time the adapter came off, the pressure had been let off before.

Filling the reservoir takes it off as well, whatever the record says of the lid. A pressure that was read after it was
let off, or after it came off, says otherwise: neither is proof.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.grounds.asked import asked
from witnessmark.audit.grounds.sequence import may_precede, not_after, precedes
from witnessmark.audit.limits import inside
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Act, Gauge
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, no_proof
from witnessmark.procedure.model import Limit
from witnessmark.range import FOREVER

WORDS = ("feed-on", "feed-off", "pressurise")
AT_REST = "0.1 bar"
"""What a gauge may show with no pressure on it, where no limit was given: this project's choice, no source."""


def answer(case: Case) -> Verdict:
    if not _fed(case):
        return does_not_apply("the procedure uses no feed")
    removed = case.timeline.acts_affecting("feed-off")
    details = [_removed(case, act) for act in removed]
    left_out = [act for act in case.timeline.acts if act.act == "skipped" and act.affects == "feed-off"]
    details += [
        Detail("feed off", "not met", act.why_not, (act.seq,))
        for act in left_out
        if not any(one.seq > act.seq for one in removed)
    ]
    if not details:
        return no_proof("no entry says that the feed was taken off")
    details += _on_again(case, removed)
    details += _read_after(case, removed)
    details += _filled(case)
    return from_details(details, "the pressure was let off before the feed came off")


def _fed(case: Case) -> bool:
    """Say whether the procedure has a feed, or the record tells of one."""
    one = case.procedure
    pressed = one.pressure_limit or any(visit.pressure for visit in case.plan)
    return bool(pressed or asked(case, *WORDS) or case.timeline.acts_affecting(*WORDS))


def _on_again(case: Case, removed: Sequence[Act]) -> Iterator[Detail]:
    """Name what put the feed on again after it was last taken off: nobody took it off then."""
    for act in case.timeline.acts_affecting("feed-on", "pressurise"):
        if removed and not any(not_after(case, act, off) == "yes" for off in reversed(removed)):
            text = "on again, and no entry says that it was taken off then"
            yield Detail(f"feed, entry {act.seq}", "no proof", text, (act.seq,))


def _read_after(case: Case, removed: Sequence[Act]) -> Iterator[Detail]:
    """Name a pressure that was read after the feed was last taken off: it was on again then."""
    final = max(removed, key=lambda act: (act.at.low, act.seq), default=None)
    if final is not None and (read := _read_since(case, final, None)) is not None:
        text = f"read as {read.amount} after that, and no entry says that it was taken off then"
        yield Detail(f"feed off, entry {final.seq}", "no proof", text, (final.seq, read.seq))


def _filled(case: Case) -> Iterator[Detail]:
    """Judge each filling by what was done to the feed last before it; one before which nothing was says nothing."""
    acts = sorted(case.feed_acts, key=lambda one: (one.at.low, one.seq))
    starts = [one.at.low for one in acts]
    for fill in case.timeline.acts_affecting("refill"):
        last: list[Act] = []
        for index in range(bisect_right(starts, fill.at.high) - 1, -1, -1):
            one = acts[index]
            if one.seq != fill.seq and may_precede(case, one, fill):
                last.append(one)
                if not_after(case, one, fill) == "yes":
                    break
        pressed = [one for one in last if one.affects == "pressurise"]
        cites = (*(one.seq for one in last), fill.seq)
        if pressed:
            text = "it was under pressure, and no entry lets it off"
            if len(pressed) < len(last):
                text = "whether the pressure was let off before is within the uncertainty of the times"
            yield Detail(f"filled, entry {fill.seq}", "no proof", text, cites)
        elif last:
            yield Detail(f"filled, entry {fill.seq}", "met", "the pressure had been let off", cites)


def _removed(case: Case, off: Act) -> Detail:
    """Judge one time that the feed came off by what was last done to its pressure before it."""
    subject = f"feed off, entry {off.seq}"
    acts = [one for one in case.feed_acts if one.affects != "feed-off"]
    let_off = [one for one in acts if one.affects == "depressurise"]
    earlier = [one for one in acts if may_precede(case, one, off)]
    sure = [one for one in let_off if not_after(case, one, off) == "yes"]
    pressed = [one for one in earlier if one.affects == "pressurise"]
    latest = max((act.at.low for act in pressed), default=-FOREVER)
    for one in sure:
        if one.at.high >= latest and all(not_after(case, act, one) == "yes" for act in pressed):
            if (read := _read_since(case, one, off)) is not None:
                text = f"let off, and then read as {read.amount} before it came off: the two disagree"
                return Detail(subject, "no proof", text, (one.seq, read.seq, off.seq))
            return Detail(subject, "met", "the pressure had been let off", (one.seq, off.seq))
    cites = (*(one.seq for one in earlier[-1:]), off.seq)
    if any(may_precede(case, one, off) for one in let_off if one not in sure):
        text = "whether the pressure was let off before is within the uncertainty of the times"
        return Detail(subject, "no proof", text, cites)
    if not pressed:
        return Detail(subject, "no proof", "no entry says that its pressure was let off", cites)
    late = [one for one in let_off if not may_precede(case, one, off)]
    off_first = [one for one in late if off.at.before(one.at) == "yes" and not _pressed_between(case, off, one)]
    if off_first:
        return Detail(subject, "not met", "the pressure was let off only afterwards", (off.seq, off_first[0].seq))
    left_out = [one for one in case.timeline.acts if one.act == "skipped" and one.affects == "depressurise"]
    if left_out:
        said = f"it was under pressure, and letting it off was {left_out[-1].why_not}"
        return Detail(subject, "not met", said, (*cites, left_out[-1].seq))
    return Detail(subject, "no proof", "it was under pressure, and no entry lets it off", cites)


def _read_since(case: Case, let_off: Act, off: Act | None) -> Gauge | None:
    """Return the last reading of the feed after it was let off and before it came off, where that is a pressure.

    One that may have been then counts, unless it was told of in another order.
    """
    until = case.timeline.end if off is None else off.at.high
    since = [
        one
        for one in case.feed_read_at.within(let_off.at.low, max(let_off.at.low, until))
        if (one.seq == let_off.seq or not precedes(case, one, let_off))
        and (off is None or one.seq == off.seq or not precedes(case, off, one))
    ]
    if not since or since[-1].amount.number <= 0:
        return None
    return None if inside(since[-1].amount, Limit(high=since[-1].high or AT_REST)) else since[-1]


def _pressed_between(case: Case, off: Act, later: Act) -> bool:
    """Say whether the feed was put under pressure again between two things: then the later one says nothing of it."""
    acts = case.timeline.acts_affecting("pressurise")
    return any(may_precede(case, off, one) and may_precede(case, one, later) for one in acts)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(24, "feed-removed", "Was the feed let off before it was removed?", answer)]
