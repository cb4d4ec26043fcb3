"""The feed before a nipple opens: was its pressure read in the band, not too long before, and not let off since?"""

from __future__ import annotations

from witnessmark.audit.case import Case, time_ns
from witnessmark.audit.limits import inside, spell
from witnessmark.audit.timeline import Opening
from witnessmark.audit.verdict import Detail
from witnessmark.procedure.model import Limit, Pass


def before(case: Case, one: Pass, opening: Opening) -> Detail:
    """Judge the feed's pressure before one opening of a pass; the subject is left empty."""
    readings, acts = case.timeline.readings("feed-pressure"), case.feed_acts
    start = opening.open.start
    off = [act for act in acts if act.at.before(start) != "no"]
    if off and off[-1].affects != "pressurise" and off[-1].at.before(start) == "yes":
        return Detail("", "not met", "the feed's pressure had been let off before it opened", (off[-1].seq,))
    earlier = [gauge for gauge in readings if gauge.at.before(start) == "yes"]
    if not earlier:
        return Detail("", "no proof", "no reading of the feed's pressure before it opened")
    last = earlier[-1]
    band = one.pressure or case.procedure.pressure_limit or Limit()
    text = f"{last.amount} read before it opened, asked {spell(band)}"
    if not inside(last.amount, band):
        restored = [act for act in acts if act.affects == "pressurise" and last.at.before(act.at) == "yes"]
        if any(act.at.before(start) != "no" for act in restored):
            return Detail("", "no proof", f"{text}; restored then and not read again", (last.seq, restored[0].seq))
        return Detail("", "not met", text, (last.seq,))
    age = start.minus(last.at)
    if one.pressure_age and age.low > time_ns(one.pressure_age):
        return Detail("", "no proof", f"{text}, but more than {one.pressure_age} before", (last.seq,))
    return Detail("", "met", text, (last.seq,))
