"""What was done on each planned visit: the openings, the run it is judged by, and what was read for it."""

from __future__ import annotations

from dataclasses import dataclass

from witnessmark.audit.case import Case
from witnessmark.audit.feed import last_before
from witnessmark.audit.range import Range
from witnessmark.audit.timeline import Actuation, Gauge, Opening
from witnessmark.procedure.model import Limit, Pass


@dataclass(frozen=True, slots=True)
class Visit:
    """One pass as it was done. `run` is the one it is judged by, `others` every other attempt, in order.

    `openings` are those that belong to that run, `apart` those that belong to other attempts. `pressure` is the last
    reading of the feed before the one of `openings` that the run had.
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
    openings, apart = _belonging(case.timeline.openings_at(one.id), run, others)
    readings = tuple(
        gauge for gauge in case.timeline.gauges if gauge.pass_id == one.id and gauge.what != "feed-pressure"
    )
    return Visit(
        one.id,
        tuple(case.nipple(name).name for name in one.nipples),
        one.wire_command,
        one.seconds,
        openings,
        run,
        _pressure_before(case, openings, run),
        readings,
        others,
        apart,
    )


def _belonging(
    openings: tuple[Opening, ...], run: Actuation | None, others: tuple[Actuation, ...]
) -> tuple[tuple[Opening, ...], tuple[Opening, ...]]:
    """Part the openings of a visit into those of the run it is judged by and those of its other attempts.

    Where there was one attempt, or no opening may have lasted while the run did, all belong to it.
    """
    if run is None or run.ran is None or not others:
        return openings, ()
    span = run.ran
    mine = tuple(one for one in openings if one.open.meets(span) != "no")
    return (mine, tuple(one for one in openings if one not in mine)) if mine else (openings, ())


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
