"""Which of two things was done first, by their times and by the journal.

Two marks flow in, what is sure about their order flows out. Rules that hold here: where the times settle it they
decide; where they overlap within their uncertainty, that one stands before the other in the journal shows that it came
first if both were made as the work was done, and shows nothing if one was entered afterwards; the journal alone never
shows that something was done too early or too late; one touch that says several things says them in their order.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from typing import Protocol

import msgspec

from witnessmark.audit.case import Case
from witnessmark.audit.timeline import Opening
from witnessmark.range import Range, Sure


class Placed(Protocol):
    """Anything that was at some moment and stands in the journal: a mark, an act, a reading."""

    @property
    def at(self) -> Range: ...

    @property
    def seq(self) -> int: ...


class Mark(msgspec.Struct, frozen=True, gc=False):
    """A moment to be before or after, the entry that gives it, and what it is called."""

    at: Range
    seq: int
    name: str = ""


def opened(one: Opening) -> Mark:
    """Return when it was opened; where no entry says so, its closing stands for the entry."""
    return Mark(one.open.start, (one.closed or 0) if one.opened is None else one.opened, "it was opened")


def closed(one: Opening) -> Mark:
    """Return when it was closed; where no entry says so, its opening stands for the entry."""
    return Mark(one.open.end, (one.opened or 0) if one.closed is None else one.closed, "it was closed")


def not_after(case: Case, one: Placed, other: Placed) -> Sure:
    """Say whether `one` was done no later than `other`; `no` only where the times settle it."""
    if one.seq == other.seq:
        return "yes"
    sure = one.at.before(other.at)
    if sure == "maybe" and one.seq < other.seq and one.seq in case.timeline.live and other.seq in case.timeline.live:
        return "yes"
    return sure


def may_precede(case: Case, one: Placed, other: Placed) -> bool:
    """Say whether `one` may have been done before `other`, as far as times and journal tell."""
    return not_after(case, one, other) == "yes" or not_after(case, other, one) != "yes"


def precedes(case: Case, one: Placed, other: Placed) -> bool:
    """Say whether `one` came first: by the times or, where they do not settle it, as both were entered afterwards."""
    sure, live = not_after(case, one, other), case.timeline.live
    if sure != "maybe" or one.seq in live or other.seq in live:
        return sure == "yes"
    return one.seq < other.seq and one.at.low <= other.at.low and one.at.high <= other.at.high


def any_between(seqs: Sequence[int], after: int, before: int) -> bool:
    """Say whether one of the numbers, which rise, lies between two, neither of them reached."""
    place = bisect_right(seqs, after)
    return place < len(seqs) and seqs[place] < before


def while_open(case: Case, opening: Opening, moment: Placed) -> Sure:
    """Say whether something was done while a nipple was open; `yes` only where the times settle it."""
    before = not_after(case, moment, opened(opening)) == "yes"
    after = opening.closed is not None and not_after(case, closed(opening), moment) == "yes"
    return "no" if before or after else opening.open.contains(moment.at)


def first(case: Case, marks: Sequence[Placed], name: str) -> Mark:
    """Return the first of `marks`: when it was, and an entry by whose place in the journal it can be told, if any."""
    at = Range(min(one.at.low for one in marks), min(one.at.high for one in marks))
    likely = [one.seq for one in marks if one.at.low <= at.high]
    return Mark(at, min(_afterwards(case, likely) or likely), name)


def last(case: Case, marks: Sequence[Placed], name: str) -> Mark:
    """Return the last of `marks`, as `first` does."""
    at = Range(max(one.at.low for one in marks), max(one.at.high for one in marks))
    likely = [one.seq for one in marks if one.at.high >= at.low]
    return Mark(at, max(_afterwards(case, likely) or likely), name)


def _afterwards(case: Case, likely: Sequence[int]) -> list[int]:
    """Return those entered afterwards: where one is among them, the journal cannot tell which was first."""
    return [seq for seq in likely if seq not in case.timeline.live]
