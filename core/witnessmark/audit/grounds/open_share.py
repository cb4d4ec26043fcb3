"""The share of a run that a nipple of its pass was open, judged by what the procedure asks.

A run and the openings of a nipple flow in, a detail flows out. Rules that hold here: an entry that says that it was not
opened while it ran decides where no opening stands against it; where both were said neither is proof.
"""

from __future__ import annotations

from witnessmark import quantity
from witnessmark.audit import say
from witnessmark.audit.case import Case, not_opened
from witnessmark.audit.grounds.unopened import in_words, may_be_shut_before, missed, over, shut_before
from witnessmark.audit.timeline import Actuation
from witnessmark.audit.verdict import Detail
from witnessmark.procedure.model import Pass
from witnessmark.range import covered


def share(case: Case, one: Pass, name: str, run: Actuation, subject: str) -> Detail:
    """Return whether a nipple was open for the share of a run, which began, that its pass asks."""
    assert run.ran is not None
    openings = case.timeline.openings_of(name)
    near = [one for one in case.timeline.open_in(run) if one.nipple == name and not over(case, one, run)]
    # Of a run that may have had no length any opening may have been the one: then one of them stands for all.
    least, most = covered(run.ran, [opening.open for opening in near or openings[:1]])
    asked = float(quantity.parse(one.overlap, place="overlap").number) / 100
    against = missed(case, run, name)
    cites = (*run.cites, *(seq for opening in near for seq in opening.cites), *against)
    if not openings or shut_before(case, run, name):
        text, cues = in_words(case, run, name)
        return Detail(subject, "not met" if against else "no proof", text, (*cites, *cues))
    lasted = run.ran.length()
    length = f" of {say.length(lasted)}" if say.is_known(lasted) else ", of a length that is not known"
    text = f"open for {say.share(least, most)} of the run{length}, asked {one.overlap}"
    if any(opening.closed is None for opening in near):
        text += "; no entry closes it"
    if against:
        text += f"; {not_opened(against)}"
    elif least == 0 and may_be_shut_before(case, run, name):
        text += "; it may have been shut before the run began, and no entry opens it after that"
        return Detail(subject, "no proof", text, cites)
    if least >= asked - 1e-9 and not against:
        return Detail(subject, "met", text, cites)
    return Detail(subject, "not met" if most < asked - 1e-9 else "no proof", text, cites)
