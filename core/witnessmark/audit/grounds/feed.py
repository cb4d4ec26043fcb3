"""The feed before a nipple opens: was its pressure read in the band, not too long before, and not let off since?

Rules that hold here: the last reading before it opened decides, and where it cannot be told which was the last, each
that may have been; what was let off after it counts, and what may have been let off leaves it open.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import structs

from witnessmark.audit.case import Case, time_ns
from witnessmark.audit.grounds.sequence import Mark, may_precede, not_after, opened, precedes
from witnessmark.audit.limits import inside, spell
from witnessmark.audit.timeline import Act, Gauge, Opening
from witnessmark.audit.verdict import Detail
from witnessmark.procedure.model import Limit, Pass
from witnessmark.range import FOREVER


def before(case: Case, one: Pass, opening: Opening) -> Detail:
    """Judge the feed's pressure before one opening of a pass; the subject is left empty."""
    return case.once(("feed before", one.id, opening), lambda: _before(case, one, opening))


def _before(case: Case, one: Pass, opening: Opening) -> Detail:
    start = opened(opening)
    known = [gauge for gauge in near(case, start) if may_precede(case, gauge, start)]
    acts = [act for act in _acts_near(case, start, known) if may_precede(case, act, start)]
    off = [act for act in acts if act.affects != "pressurise"]
    earlier = [gauge for gauge in known if not_after(case, gauge, start) == "yes"]
    band = one.pressure or case.procedure.pressure_limit or Limit()
    for act in off:
        if not _put_on(case, act, acts) and not _read(case, act, known) and act.at.before(start.at) == "yes":
            return Detail("", "not met", "the feed's pressure had been let off before it opened", (act.seq,))
    if not earlier and known:
        text = f"{known[-1].amount} read; whether that was before it opened is within the uncertainty of the times"
        return Detail("", "no proof", text, tuple(gauge.seq for gauge in known))
    if not earlier:
        return Detail("", "no proof", "no reading of the feed's pressure before it opened")
    lasts = _lasts(case, known, earlier)
    outside = [gauge for gauge in lasts if not inside(gauge.amount, band)]
    if outside:
        return _outside(case, start, lasts, outside, acts, band)
    text = f"{lasts[-1].amount} read before it opened, asked {spell(band)}"
    for act in acts:
        if act.affects == "pressurise" and any(precedes(case, gauge, act) for gauge in lasts if gauge.seq != act.seq):
            since = f"{text}; the feed was put under pressure since, and it was not read again"
            return Detail("", "no proof", since, (lasts[-1].seq, act.seq))
    for act in off:
        if not all(not_after(case, act, gauge) == "yes" for gauge in lasts):
            since = f"{text}; the feed's pressure may have been let off since, and it was not read again"
            return Detail("", "no proof", since, (lasts[-1].seq, act.seq))
    oldest = min(lasts, key=lambda gauge: gauge.at.low)
    if one.pressure_age and start.at.minus(oldest.at).high > time_ns(one.pressure_age):
        surely = start.at.minus(oldest.at).low > time_ns(one.pressure_age)
        how = "" if surely else "perhaps "
        return Detail("", "no proof", f"{text}, but {how}more than {one.pressure_age} before", (oldest.seq,))
    return Detail("", "met", text, tuple(gauge.seq for gauge in lasts))


def last_before(case: Case, opening: Opening) -> Gauge | None:
    """Return the reading that an opening is judged by, the last of those that may be; None where none was before it."""
    start = opened(opening)
    known = [gauge for gauge in near(case, start) if may_precede(case, gauge, start)]
    earlier = [gauge for gauge in known if not_after(case, gauge, start) == "yes"]
    return _lasts(case, known, earlier)[-1] if earlier else None


def opened_again(case: Case, one: Pass, found: Sequence[tuple[Opening, Detail]], worst: Detail) -> Detail:
    """Return what stands against a pass, with what was read where it was to be done again and was right then.

    `found` has the openings of the pass or of one of its nipples, each with what is found of it.
    """
    since = case.timeline.again.get(one.id, FOREVER)
    first = next(opening for opening, detail in found if detail is worst)
    if worst.answer == "met" or (first.opened or 0) > since:
        return worst
    for opening, detail in reversed(found):
        read = last_before(case, opening) if detail.answer == "met" and (opening.opened or 0) > since else None
        if read is not None and opening.opened is not None:
            text = f"{worst.text}; opened again for it at {read.amount} (entry {opening.opened})"
            return structs.replace(worst, text=text, cites=(*worst.cites, read.seq, opening.opened))
    return worst


def _lasts(case: Case, known: Sequence[Gauge], earlier: Sequence[Gauge]) -> list[Gauge]:
    """Return those of the `known` readings that none of the `earlier` ones surely replaces."""
    return [gauge for gauge in known if not any(_replaces(case, other, gauge) for other in reversed(earlier))]


def near(case: Case, start: Mark) -> list[Gauge]:
    """Return the readings that may be the last before a moment: not surely after it, nor surely read again since."""
    since = case.feed_read_at.latest_low(start.at.low)
    return case.feed_read_at.within(start.at.low if since is None else since, start.at.high)


def _acts_near(case: Case, start: Mark, known: Sequence[Gauge]) -> list[Act]:
    """Return what was done to the feed's pressure and may matter: not surely after the moment, nor long before it.

    What was done before each reading that counts changes nothing that it shows; where nothing was read, no more does
    what was done before the feed was last put under pressure.
    """
    on = case.pressurised_at.latest_low(start.at.low)
    since = min((gauge.at.low for gauge in known), default=-FOREVER if on is None else on)
    return case.fed_at.within(since, start.at.high)


def _outside(
    case: Case, start: Mark, lasts: Sequence[Gauge], outside: Sequence[Gauge], acts: Sequence[Act], band: Limit
) -> Detail:
    last = outside[-1]
    text = f"{last.amount} read before it opened, asked {spell(band)}"
    on = [act for act in acts if act.affects == "pressurise"]
    restored = [act for act in on if any(may_precede(case, one, act) for one in outside)]
    if restored:
        return Detail("", "no proof", f"{text}; restored then and not read again", (last.seq, restored[0].seq))
    if len(outside) < len(lasts):
        fine = next(gauge for gauge in lasts if gauge not in outside)
        text = f"{text}; whether that or {fine.amount} was read last is within the uncertainty of the times"
        return Detail("", "no proof", text, (last.seq, fine.seq))
    return Detail("", "not met", text, (last.seq,))


def _replaces(case: Case, later: Gauge, earlier: Gauge) -> bool:
    """Say whether one reading surely came after another; of two at one moment the later entry."""
    after = not_after(case, earlier, later) == "yes"
    return after and (not_after(case, later, earlier) != "yes" or later.seq > earlier.seq)


def _put_on(case: Case, off: Act, acts: Sequence[Act]) -> bool:
    """Say whether the feed may have been put under pressure again after it was let off."""
    return any(act.affects == "pressurise" and may_precede(case, off, act) for act in acts)


def _read(case: Case, off: Act, readings: Sequence[Gauge]) -> bool:
    """Say whether it may have been read after it was let off."""
    return any(may_precede(case, off, gauge) for gauge in readings)
