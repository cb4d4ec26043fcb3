"""What was told of the reservoir afterwards, and may have been before what stands before it in the journal.

A case and entries flow in, those that are not in their place after each opening, closing and mend flow out. Rules that
hold here: what was entered as it was done is in its place; what was entered afterwards is where its time is surely not
before anything that stands before it, or where that was entered afterwards too and their times say nothing against
their order in the journal.
"""

from __future__ import annotations

from collections.abc import Iterable

from witnessmark.audit.case import Case
from witnessmark.audit.grounds import sequence
from witnessmark.audit.grounds.mends import every_mend
from witnessmark.audit.grounds.sequence import Mark, Placed
from witnessmark.range import FOREVER


def out_of_place(case: Case, seqs: Iterable[int]) -> frozenset[int]:
    """Return which of the entries, readings and acts, may have been before what ran out, or was mended, before them."""
    live = case.timeline.live
    afterwards = {seq for seq in seqs if seq not in live}
    if not afterwards:
        return frozenset()
    told: list[Placed] = [one for one in case.timeline.acts if one.seq in afterwards]
    told += [one for one in case.timeline.gauges if one.seq in afterwards]
    marks = sorted(_marks(case), key=lambda one: one.seq, reverse=True)
    found, high, late_low, late_high = set(), -FOREVER, -FOREVER, -FOREVER
    for one in sorted(told, key=lambda one: one.seq):
        while marks and marks[-1].seq < one.seq:
            mark = marks.pop()
            if mark.seq in live:
                high = max(high, mark.at.high)
            else:
                late_low, late_high = max(late_low, mark.at.low), max(late_high, mark.at.high)
        if one.at.low < max(high, late_low) or one.at.high < late_high:
            found.add(one.seq)
    return frozenset(found)


def _marks(case: Case) -> list[Mark]:
    """Return when each nipple was opened and closed, and each line opened for a mend."""
    begun = [sequence.opened(one) for one in case.timeline.openings if one.opened is not None]
    ended = [sequence.closed(one) for one in case.timeline.openings if one.closed is not None]
    return [*begun, *ended, *(one.mark for one in every_mend(case) if one.opened)]
