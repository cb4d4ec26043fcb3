"""What two entries do not show when much lies between them: nobody watched the nipple, the feed or the reservoir.

A case and an opening flow in; why it proves nothing flows out, with the entries that say so. Rules that hold here
(common practice, no source): a nipple open for more than `LONG_S`, or while the job lay for more than `OPEN_LAY_S`, may
have run the reservoir empty and the pressure off; so may one that was open after the reservoir was last seen and before
it was said to have run empty, unless that was taken back as a slip and a look right after it found fluid. A reading
tells of what lies at most `LONG_S` from it, and of no more than its own visit: what other nipples let out between it
and the opening may have taken the pressure.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from witnessmark.audit import say
from witnessmark.audit.case import NS, Case
from witnessmark.audit.grounds.sequence import Placed, closed, may_precede, not_after, opened
from witnessmark.audit.timeline import Act, Opening, by
from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry
from witnessmark.journal.kinds import BESIDE, WORK
from witnessmark.procedure import own
from witnessmark.procedure.words import OPEN_LAY_S
from witnessmark.range import Sure

LONG_S = 15 * 60
LEFT_OPEN = own.LEFT_OPEN
RAN_EMPTY = (own.AIR_DRAWN, own.SAID_EMPTY)
"""The steps by which a person says that the reservoir ran empty while the work was done."""

Why = tuple[str, tuple[int, ...]]
"""In words why something proves nothing, and the entries that say so."""


@dataclass(frozen=True, slots=True)
class Unwatched:
    """`lays` are the times that the job lay: the entry it went on with, how long (ns), the entry before. `empty` are
    the acts that say that the reservoir ran empty, each with when it was last known to hold fluid; `feed` is each
    reading of the feed, and each act on it, by its entry; `left_open` the acts that say so, by pass and nipple.
    """

    case: Case
    lays: tuple[tuple[int, int, int], ...]
    empty: tuple[tuple[Act, Placed | None], ...]
    feed: Mapping[int, Placed]
    left_open: Mapping[tuple[str, str], Sequence[Act]]

    def open_too_long(self, one: Opening) -> Why | None:
        """Return why an opening that has both its entries does not show that it was closed in time; None: nothing."""
        assert one.opened is not None and one.closed is not None
        for seq, lay_ns, since in self.lays:
            if one.opened < seq < one.closed and lay_ns > OPEN_LAY_S * NS:
                return f"it was open while the job lay for {say.seconds(lay_ns)}", (since, seq)
        length = one.open.length()
        if length.high > LONG_S * NS:
            text = f"open for {say.length(length)}: nobody can say that fluid and pressure lasted"
            return text, (one.opened, one.closed)
        for act, seen in self.empty:
            if may_precede(self.case, opened(one), act) and (seen is None or may_precede(self.case, seen, closed(one))):
                return "the reservoir ran empty, and nobody can say when", (act.seq,)
        return None

    def left(self, one: Opening) -> tuple[Sure, Act] | None:
        """Return how sure it is that a nipple was left open, and the act that said that it would be; None for no act.

        One that was shut within `OPEN_LAY_S` of it was not.
        """
        for act in self.left_open.get((one.pass_id, one.nipple), ()):
            if (one.opened or 0) < act.seq and (one.closed is None or act.seq < one.closed):
                return one.open.end.minus(act.at).at_least(OPEN_LAY_S * NS), act
        return None

    def too_far(self, one: Opening, before: Sequence[Placed], after: Placed) -> Why | None:
        """Return why readings `before` an opening and what shows the feed `after` it do not tell of it; None: they do.

        The marks are the readings that may be the last before it, and the first thing after it.
        """
        first = min(before, key=lambda each: each.at.low)
        for apart, seq, where in (
            (one.open.start.minus(first.at), first.seq, "before it opened"),
            (after.at.minus(one.open.end), after.seq, "after it was closed"),
        ):
            if apart.high > LONG_S * NS:
                return f"the feed was read {say.length(apart)} {where}, which shows nothing of it", (seq,)
        for other in self.case.timeline.open_while.within(first.at.low, max(first.at.low, after.at.high)):
            if other.pass_id == one.pass_id or other.opened is None:
                continue
            if may_precede(self.case, first, closed(other)) and may_precede(self.case, opened(other), after):
                name = self.case.nipple(other.nipple).name
                was = "was" if _surely_between(self.case, other, first, after) else "may have been"
                return f"{name} {was} open as well between the two readings of the feed", (other.opened,)
        return None


def _surely_between(case: Case, one: Opening, first: Placed, after: Placed) -> bool:
    """Whether a nipple was surely open some time between two moments, as far as times and journal tell."""
    ends = (opened(one), closed(one)) if one.closed is not None else (opened(one),)
    begun = any(not_after(case, first, end) == "yes" for end in ends)
    return begun and any(not_after(case, end, after) == "yes" for end in ends)


def of(case: Case) -> Unwatched:
    """Return what nobody watched of a case."""
    return case.once("unwatched", lambda: _of(case))


def _of(case: Case) -> Unwatched:
    begun = min((one.opened for one in case.timeline.openings if one.opened is not None), default=None)
    said = sorted((act for word in RAN_EMPTY for act in case.timeline.said(word) if act.done), key=lambda act: act.seq)
    empty = tuple((act, _seen(case, act)) for act in said if begun is not None and act.seq > begun)
    empty = tuple(one for one in empty if not slipped(case, one[0]))
    feed: dict[int, Placed] = {one.seq: one for one in case.timeline.readings("feed-pressure")}
    feed |= {one.seq: one for one in case.feed_acts}
    left = (act for act in case.timeline.said(LEFT_OPEN) if act.done)
    return Unwatched(case, tuple(_lays(case)), empty, feed, by(left, lambda act: (act.pass_id, act.nipple)))


def taken_back(case: Case, act: Act) -> int | None:
    """Return the entry that takes back as a slip that the reservoir ran empty, None where none does."""
    said = (one.seq for one in case.timeline.said(own.PUT_RIGHT) if one.answer in RAN_EMPTY and one.seq > act.seq)
    return next(said, None)


def slipped(case: Case, act: Act) -> bool:
    """Whether it was taken back as a slip that it ran empty, and the look after it, before any filling, found fluid."""
    back = taken_back(case, act)
    if back is None:
        return False
    levels = case.timeline.readings("level")
    looks = [one.seq for one in case.timeline.said(own.LEVEL_LOOK) if one.done and not one.affects and not one.looked]
    looks += [one.seq for one in levels if one.amount.number > 0]
    seen = min((one for one in looks if one > back), default=None)
    others: tuple[Placed, ...] = (
        *case.timeline.acts_affecting("refill", "empty"),
        *case.timeline.readings("volume-in"),
        *levels,
    )
    return seen is not None and not any(act.seq < one.seq < seen for one in others)


def _lays(case: Case) -> list[tuple[int, int, int]]:
    """Return when the job lay: it was paused, or left, and went on with an entry of its own.

    One that was left lies since the last entry of the work: not since one that was keyed in or added to the record
    meanwhile, nor since the one that says of a program, as the job is taken up, that nobody knows how it ended.
    """
    found, paused = [], None
    entered = case.timeline.entered
    seqs: list[int] = []
    for seq, body in case.all_of(bodies.State):
        if body.state == "paused":
            paused = seq
        elif body.state == "open":
            seqs = seqs or [entry.seq for entry, one in case.read if _watched(entry, one)]
            last = bisect_left(seqs, seq)
            since = paused if paused is not None else seqs[last - 1] if last else case.entries[0].seq
            found.append((seq, entered[seq] - entered[since], since))
            paused = None
    return found


def _watched(entry: Entry, body: bodies.Body | None) -> bool:
    """Whether somebody, or the program that ran the job, was there as an entry was made: not at a desk, afterwards."""
    if entry.kind in (*BESIDE, "handed-over", "moved") or (isinstance(body, bodies.Left) and body.how == "unseen"):
        return False
    there = entry.kind in ("state", "left") or entry.done_by.startswith("machine:")
    return there or (entry.kind in WORK and entry.occurred.basis != "typed")


def _seen(case: Case, act: Act) -> Placed | None:
    """Return when the reservoir was last filled or read before it was said to have run empty, None where never."""
    seen: tuple[Placed, ...] = (*case.timeline.acts_affecting("refill"), *case.timeline.readings("level"))
    return max((one for one in seen if one.seq < act.seq), key=lambda one: one.seq, default=None)
