"""What was done on each planned visit: the openings, the run it is judged by, and what was read for it."""

from __future__ import annotations

from dataclasses import dataclass

from witnessmark.audit.case import Case
from witnessmark.audit.range import Range
from witnessmark.audit.timeline import Actuation, Gauge, Opening
from witnessmark.procedure.model import Limit, Pass


@dataclass(frozen=True, slots=True)
class Visit:
    """One pass as it was done. `pressure` is the last reading of the feed before its first opening."""

    id: str
    nipples: tuple[str, ...]
    wire_command: str
    seconds: str
    openings: tuple[Opening, ...]
    run: Actuation | None
    pressure: Gauge | None
    readings: tuple[Gauge, ...]

    @property
    def closed(self) -> bool:
        """Whether it was opened at all and every opening has its closing."""
        return bool(self.openings) and all(one.closed is not None for one in self.openings)

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
    openings = tuple(opening for opening in case.timeline.openings if opening.pass_id == one.id)
    readings = tuple(
        gauge for gauge in case.timeline.gauges if gauge.pass_id == one.id and gauge.what != "feed-pressure"
    )
    return Visit(
        one.id,
        tuple(case.nipple(name).name for name in one.nipples),
        one.wire_command,
        one.seconds,
        openings,
        case.timeline.run_that_counts(one.id),
        _pressure_before(case, one, openings),
        readings,
    )


def _pressure_before(case: Case, one: Pass, openings: tuple[Opening, ...]) -> Gauge | None:
    if not openings:
        return None
    start = openings[0].open.start
    known = [gauge for gauge in case.timeline.readings("feed-pressure") if gauge.at.before(start) == "yes"]
    mine = [gauge for gauge in known if gauge.pass_id in ("", one.id)]
    return mine[-1] if mine else None


def pressure_band(case: Case) -> Limit:
    """Return the band of feed pressure that the first pass asking for one asks for; open when none does."""
    asked = [one.pressure for one in case.plan if one.pressure]
    return asked[0] if asked else case.procedure.pressure_limit or Limit()
