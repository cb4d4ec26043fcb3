"""What ran out of the reservoir between two entries, in mL: what must have, and all that may have.

A case flows in, volumes flow out. Rules that hold here: a bottle is read after its nipple was closed, so that what was
read may have run out before an entry and after it; where that entry shows how much stood in the reservoir, and so how
much had run out by then, the rest ran out after it: a bottle holds both, unless an entry says that it was left unread.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from witnessmark.audit.case import Case
from witnessmark.audit.fluid.bottles import end_of, left_unread, read_with
from witnessmark.audit.fluid.stock import Volume
from witnessmark.audit.fluid.volumes import counting, in_ml
from witnessmark.audit.moments import Moments
from witnessmark.audit.timeline import Gauge, Opening, by

Ran = tuple[Gauge, int, int]
"""A volume that was read, with the entries from and to which it ran out."""


@dataclass(frozen=True, slots=True)
class Rest:
    """How much of some `readings`, by their entries, ran out only after an entry between."""

    readings: frozenset[int]
    ml: Volume


def ran_out(case: Case) -> Moments[Ran]:
    """Return each volume read, by the entries from and to which it ran out."""
    return Moments(_ran(case), lambda one: (min(one[1:]), max(one[1:])))


def _ran(case: Case) -> list[Ran]:
    """Return each volume read, and the entries between which it ran out.

    It ran out in what was open since the bottle was read before; nothing was, then it was read once more.
    """
    ends = ((one, end_of(case, one)) for one in case.timeline.openings)
    kept = [(one, end.pass_id if end else read_with(case, one.pass_id)) for one, end in ends if not (end and end.left)]
    visits = {name: [one for one, _ in group] for name, group in by(kept, lambda each: each[1]).items()}
    before: dict[tuple[str, str], tuple[int, tuple[int, int]]] = {}
    found: list[Ran] = []
    for one in case.timeline.readings("volume"):
        since, span = before.get((one.pass_id, one.nipple), (0, None))
        of_it = [
            each
            for each in visits.get(one.pass_id, ())
            if since < (each.closed or one.seq) and (each.opened or 0) < one.seq
        ]
        if span is None or of_it:
            span = _span(of_it or visits.get(one.pass_id, ()), one.seq)
            span = (_with_unread(case, found[-1][0].seq if found else 0, one, span[0]), span[1])
        before[one.pass_id, one.nipple] = one.seq, span
        found.append((one, *span))
    return found


def _with_unread(case: Case, since: int, one: Gauge, first: int) -> int:
    """Return from which entry on what was read may have run out: a bottle left unread before may have gone into it."""
    places = {act.pass_id for act in left_unread(case) if since < act.seq < one.seq}
    if not places:
        return first
    opened = (each.opened for each in case.timeline.openings if read_with(case, each.pass_id) in places)
    return min((first, *(seq for seq in opened if seq is not None)))


def _span(openings: Sequence[Opening], read: int) -> tuple[int, int]:
    """Return the entries from the first opening to the last closing of what was `read` then."""
    opened = [one.opened for one in openings if one.opened is not None]
    closed = [one.closed for one in openings if one.closed is not None]
    last = max(closed, default=read)
    return min(opened, default=read), max(last, read) if len(closed) < len(openings) else last


def between(ran: Sequence[Ran], start: int, end: int) -> list[Gauge]:
    """Return what was read of what ran out from one filling to the next, in part or all of it."""
    return [one for one, first, last in ran if first < end and last > start]


def ran_between(case: Case, ran: Sequence[Ran], start: int, end: int, rest: Rest | None) -> Volume:
    """Return what ran out from one entry to the next: what must have, and all that may have.

    Of the readings of `rest` that ran out before the next it is no more than that.
    """
    known = rest is not None and all(last < end for one, _, last in ran if one.seq in rest.readings)
    apart = rest.readings if rest is not None and known else frozenset()
    sure = [one for one, first, last in ran if start < first and last < end and one.seq not in apart]
    may = [one for one in between(ran, start, end) if one.seq not in apart]
    least, most = in_ml(counting(case, sure)), in_ml(may)
    return Volume(least + rest.ml.low, most + rest.ml.high) if rest is not None and known else Volume(least, most)


def rest_after(case: Case, ran: Sequence[Ran], start: int, end: int, before: Volume) -> Rest | None:
    """Return how much ran out only after `end`, where it is known how much had run out between `start` and it.

    None where nothing was read of it only after, or where some of it may have run out before `start` already.
    """
    over = [one for one, first, last in ran if first < end < last]
    if not over or any(first < start for one, first, last in ran if last > start):
        return None
    sure = [one for one, first, last in ran if start < first and last < end]
    low, high = (max(0.0, before.low - in_ml(sure)), max(0.0, before.high - in_ml(counting(case, sure))))
    least, most = max(0.0, in_ml(counting(case, over)) - high), in_ml(over) - low
    return Rest(frozenset(one.seq for one in over), Volume(least, most)) if least <= most else None
