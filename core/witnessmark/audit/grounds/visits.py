"""What was done on each planned visit: the openings, the run it is judged by, and what was read for it."""

from __future__ import annotations

from dataclasses import dataclass

from witnessmark.audit.case import Case
from witnessmark.audit.grounds.feed import last_before
from witnessmark.audit.timeline import Actuation, Gauge, Opening
from witnessmark.procedure import own
from witnessmark.procedure.model import Limit, Pass
from witnessmark.range import Range

REDONE = own.REDO
"""The step by which a person has a visit done again."""
LAST = 1 << 62
"""After every entry."""


@dataclass(frozen=True, slots=True)
class Visit:
    """One pass as it was done. `run` is the one it is judged by, `others` every other attempt, in order.

    `openings` are those that belong to that run, `apart` every other one; `readings` are of that attempt, `earlier`
    those of another, where the visit was done again. `pressure` is the last reading of the feed before the one of
    `openings` that the run had, `fed` are those before any other opening of the visit.
    """

    id: str
    nipples: tuple[str, ...]
    wire_command: str
    seconds: str
    openings: tuple[Opening, ...]
    run: Actuation | None
    pressure: Gauge | None
    readings: tuple[Gauge, ...]
    others: tuple[Actuation, ...] = ()
    apart: tuple[Opening, ...] = ()
    earlier: tuple[Gauge, ...] = ()
    fed: tuple[Gauge, ...] = ()

    @property
    def closed(self) -> bool:
        """Whether it was opened at all and every opening has its closing."""
        return bool(self.openings) and all(one.closed is not None for one in (*self.openings, *self.apart))

    def open_for(self) -> list[Range]:
        """Return how long each of its nipples was open, all its openings together; nothing when an end is missing."""
        if any(one.closed is None or one.opened is None for one in self.openings):
            return []
        found: dict[str, Range] = {}
        for one in self.openings:
            before, now = found.get(one.nipple, Range(0, 0)), one.open.length()
            found[one.nipple] = Range(before.low + now.low, before.high + now.high)
        return list(found.values())


def visits(case: Case) -> tuple[Visit, ...]:
    """Return every planned visit, in the planned order."""
    return tuple(_visit(case, one) for one in case.plan)


def _visit(case: Case, one: Pass) -> Visit:
    run = case.timeline.run_that_counts(one.id)
    others = tuple(other for other in case.timeline.actuations_of(one.id) if other is not run)
    openings, apart = _belonging(case, one.id, run)
    readings = tuple(
        gauge for gauge in case.timeline.gauges if gauge.pass_id == one.id and gauge.what != "feed-pressure"
    )
    begun, ended = _attempt(case, one.id, run, openings)
    mine = tuple(gauge for gauge in readings if begun < gauge.seq < ended)
    pressure = _pressure_before(case, openings, run)
    fed = dict.fromkeys(last_before(case, opening) for opening in (*openings, *apart))
    return Visit(
        one.id,
        tuple(case.nipple(name).name for name in one.nipples),
        one.wire_command,
        one.seconds,
        openings,
        run,
        pressure,
        mine,
        others,
        apart,
        tuple(gauge for gauge in readings if gauge not in mine),
        tuple(gauge for gauge in fed if gauge is not None and gauge != pressure),
    )


def _belonging(case: Case, pass_id: str, run: Actuation | None) -> tuple[tuple[Opening, ...], tuple[Opening, ...]]:
    """Part the openings of a visit into those of the run it is judged by and those besides.

    Where no opening may have lasted while the run did, all belong to it; where nothing ran, those since it was last
    begun anew.
    """
    openings = case.timeline.openings_at(pass_id)
    if run is None or run.ran is None:
        mine = _since(case, pass_id, openings) if not case.passes[pass_id].wire_command else openings
    else:
        span = run.ran
        mine = tuple(one for one in openings if one.open.meets(span) != "no")
    return (mine, tuple(one for one in openings if one not in mine)) if mine else (openings, ())


def _attempt(case: Case, pass_id: str, run: Actuation | None, openings: tuple[Opening, ...]) -> tuple[int, int]:
    """Return the entries between which the attempt lies that a visit is judged by: where it was to be done again."""
    seqs = [run.seq] if run is not None and run.began != "no" else [min(one.cites) for one in openings]
    said = (*case.timeline.said(REDONE, pass_id), *case.timeline.said(own.PASSES_AGAIN))
    again = [act.seq for act in said if seqs]
    before = max((seq for seq in again if seq < seqs[0]), default=-1)
    return before, min((seq for seq in again if seq > seqs[0]), default=LAST)


def _since(case: Case, pass_id: str, openings: tuple[Opening, ...]) -> tuple[Opening, ...]:
    """Return the whole openings of a visit by hand since it was last to be done again, or left without one end."""
    again = [act.seq for act in case.timeline.said(REDONE, pass_id)]
    halves = [max(one.cites) for one in openings if None in (one.opened, one.closed)]
    whole = tuple(one for one in openings if None not in (one.opened, one.closed))
    for cut in sorted((*again, *halves), reverse=True):
        if mine := tuple(one for one in whole if min(one.cites) > cut):
            return mine
    return openings


def _pressure_before(case: Case, openings: tuple[Opening, ...], run: Actuation | None) -> Gauge | None:
    """Return the reading that the audit judges the opening for the run by: it may have been shut to read it again."""
    if not openings:
        return None
    ran = run.ran if run is not None else None
    before = [each for each in openings if ran is not None and each.open.start.before(ran.start) == "yes"]
    return last_before(case, (before or openings[:1])[-1])


def pressure_band(case: Case) -> Limit:
    """Return the band of feed pressure that the first pass asking for one asks for; open when none does."""
    asked = [one.pressure for one in case.plan if one.pressure]
    return asked[0] if asked else case.procedure.pressure_limit or Limit()
