"""Fluid in and out, in millilitres.

`volume` ran through nipples, `volume-removed` was taken out of the reservoir before, `volume-drawn` was drawn off at
the end, `volume-in` was filled in. The level counts only where it was read as a volume.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from witnessmark import quantity
from witnessmark.audit.case import Case
from witnessmark.audit.fluid.bottles import begun_next, end_of, into, lost, read_with, was_read
from witnessmark.audit.grounds.sequence import Placed, closed, opened, precedes
from witnessmark.audit.say import listing
from witnessmark.audit.timeline import Gauge, Opening

OUT = ("volume", "volume-removed", "volume-drawn")
MOVED = ("volume-in", "volume-removed", "volume-drawn")
"""What moves the level besides what runs out at a nipple."""
MOST_ML = 20_000
"""More than one reading of a job can be, filled in or drawn off: this project's choice, no source."""


def _around(case: Case, levels: Sequence[Gauge]) -> bool:
    """Whether the level was read before anything was taken out or filled in, and once more after all of it.

    Where the times do not settle it, the order of a card does: that in which both were entered afterwards.
    """
    moved: list[Placed] = [one for what in MOVED for one in case.timeline.readings(what)]
    lines = case.timeline.openings
    starts = [*moved, *(opened(one) for one in lines if one.opened is not None)]
    ends = [*moved, *(closed(one) for one in lines if one.closed is not None)]
    before = all(precedes(case, levels[0], one) for one in starts)
    return before and all(precedes(case, one, levels[-1]) for one in ends)


@dataclass(frozen=True, slots=True)
class Balance:
    """What went in, what came out, and how much the reservoir's level rose (None where it was not read twice)."""

    filled_ml: float
    out_ml: float
    risen_ml: float | None
    cites: tuple[int, ...]

    @property
    def left_ml(self) -> float:
        """What went in and is nowhere, where the level was read twice."""
        return self.filled_ml - self.out_ml - (self.risen_ml or 0.0)


def in_ml(gauges: Iterable[Gauge]) -> float:
    """Return the sum of readings of volume."""
    return sum(quantity.convert(one.amount, "mL") for one in gauges)


def volumes(case: Case) -> tuple[Gauge, ...]:
    """Return every reading that the balance rests on."""
    levels = (one for one in case.timeline.readings("level") if one.amount.unit in ("mL", "L"))
    return (*(one for what in ("volume-in", *OUT) for one in case.timeline.readings(what)), *levels)


def impossible(gauges: Iterable[Gauge]) -> tuple[str, tuple[int, ...]] | None:
    """Return in words the readings that cannot be right, with their entries; None when each can be."""
    wrong = [one for one in gauges if not 0 <= in_ml([one]) <= MOST_ML]
    if not wrong:
        return None
    said = listing(f"{one.what.replace('-', ' ')} {one.amount} (entry {one.seq})" for one in wrong)
    return f"cannot be right, so nothing follows from it: {said}", tuple(one.seq for one in wrong)


def through(case: Case, pass_id: str, nipple: str = "") -> tuple[Gauge, ...]:
    """Return the volumes collected on a visit, of one nipple where given."""
    return tuple(one for one in case.timeline.readings("volume", pass_id) if not nipple or one.nipple in ("", nipple))


def mixed(case: Case, pass_id: str) -> tuple[str, ...]:
    """Return the passes whose fluid ran into the bottle that was read with `pass_id`, when they do not share one.

    None where it holds that pass alone, or only what the procedure has run into one bottle.
    """
    others = [one for one in into(case, pass_id) if one.pass_id != pass_id]
    if not others:
        return ()
    since = min(one.opened or 0 for one in others)
    read = next((one.seq for one in through(case, pass_id) if one.seq > since), since)
    between = [one.pass_id for one in case.timeline.openings if since <= (one.opened or -1) < read]
    names = tuple(dict.fromkeys((*(one.pass_id for one in others), *between, pass_id)))
    sharing = {pass_id, *(one.id for one in case.passes.values() if one.bottle_with == pass_id)}
    return () if sharing >= set(names) else names


def nothing_collected(case: Case, pass_id: str, nipple: str) -> tuple[int, ...]:
    """Return the readings of what came out on a visit when together they are nothing; none where it was not read.

    Of one that was to be done again it is what came out since, where any of that was read.
    """
    return case.once(("nothing collected", pass_id, nipple), lambda: _nothing_collected(case, pass_id, nipple))


def _nothing_collected(case: Case, pass_id: str, nipple: str) -> tuple[int, ...]:
    if lost(case, pass_id):
        return ()
    every, since = through(case, read_with(case, pass_id), nipple), case.timeline.again.get(pass_id, -1)
    read = [one for one in every if one.seq > since] or every
    return tuple(one.seq for one in read) if read and in_ml(read) == 0 else ()


def collected(case: Case, one: Opening) -> tuple[Gauge, ...]:
    """Return the volumes by which it was read what ran out at an opening; none where nobody read it."""
    end = end_of(case, one)
    if end is None or end.left:
        return ()
    until = begun_next(case, end.pass_id, end.seq)
    return tuple(each for each in through(case, end.pass_id, one.nipple) if end.seq <= each.seq < until)


def ran_before(case: Case, pass_id: str, since: int) -> tuple[Opening, ...]:
    """Return the openings of a pass, over before an entry, of which what ran out was read only after it."""
    read = ((one, end_of(case, one)) for one in into(case, pass_id) if one.pass_id == pass_id)
    return tuple(one for one, end in read if end is not None and max(one.cites) < since < end.seq)


def counting(case: Case, gauges: Iterable[Gauge]) -> tuple[Gauge, ...]:
    """Return the readings without those that were at once read again."""
    return tuple(one for one in gauges if case.read_again(one) is None)


def balance(case: Case, *, once: bool = False) -> Balance | None:
    """Return the balance of the job; None when what was filled in, or what ran out at an opening, is not recorded.

    With `once` what was at once read again does not count: the second reading may be more, or the first put right.
    """
    read = case.once("volumes", lambda: _balanced(case))
    if read is None:
        return None
    filled, out, risen, cites = read
    counted = [in_ml(counting(case, one) if once else one) for one in (filled, out)]
    return Balance(counted[0], counted[1], risen, cites)


def _balanced(case: Case) -> tuple[Sequence[Gauge], Sequence[Gauge], float | None, tuple[int, ...]] | None:
    """Return what was filled in, what came out, how much the level rose, and the entries of them all."""
    filled = case.timeline.readings("volume-in")
    out = [one for what in OUT for one in case.timeline.readings(what)]
    if not filled or not out or case.untouched or not all(was_read(case, one) for one in case.timeline.openings):
        return None
    levels = [one for one in case.timeline.readings("level") if one.amount.unit in ("mL", "L")]
    risen = in_ml(levels[-1:]) - in_ml(levels[:1]) if len(levels) > 1 and _around(case, levels) else None
    return filled, out, risen, tuple(sorted(one.seq for one in (*filled, *out, *levels)))
