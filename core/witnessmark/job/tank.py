"""What the reservoir may still hold: fillings, levels and what ran out flow in, why its level must be seen flows out.

Rules that hold here: it must be seen before the next run after a pause, when nobody has looked for `SEEN_S`, and when
as much as one pass took already may be all that is left; filling it up answers each of them, a level those of time,
and that of what is left where there is more. Volumes count in mL and L alone: here nothing is converted.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from witnessmark.clock import NS
from witnessmark.journal import bodies
from witnessmark.journal.entry import Recorded
from witnessmark.procedure.model import Procedure
from witnessmark.quantity import parse

SEEN_S = 3600
"""How long a level holds that was seen: a choice of this project, no source."""
LEVEL, VOLUME, FILLED = "level", "volume", "volume-in"
PER_UNIT = {"mL": 1, "L": 1000}


@dataclass(frozen=True, slots=True)
class Tank:
    """`holds_ml` is what it holds until it draws air, `left_ml` what may be left of it, None where not known.

    `most_ml` is the most that one reading of a bottle was, `seen` when its level was seen or it was filled last,
    `doubt` why it must be seen whatever is left.
    """

    holds_ml: Decimal | None = None
    left_ml: Decimal | None = None
    most_ml: Decimal = Decimal(0)
    seen: Recorded | None = None
    doubt: str = ""

    def after(self, body: bodies.StepDone | bodies.Reading, empty: bool | None, at: Recorded) -> Tank:
        """Return what it holds after an entry that says it was emptied (True), filled up (False), or neither."""
        if empty is not None:
            left = Decimal(0) if empty else self.holds_ml
            return replace(self, left_ml=left) if empty else replace(self, left_ml=left, seen=at, doubt="")
        if not isinstance(body, bodies.Reading):
            return self
        read = _ml(body.amount.value, body.amount.unit)
        if body.what == LEVEL and body.within is not False:
            return replace(self, left_ml=self._at_most(read), seen=at, doubt="")
        if body.what == FILLED and read is not None and self.left_ml is not None:
            return replace(self, left_ml=self._at_most(self.left_ml + read))
        if body.what == VOLUME and read is not None:
            left = None if self.left_ml is None else self.left_ml - read
            return replace(self, left_ml=left, most_ml=max(self.most_ml, read))
        return self

    def _at_most(self, ml: Decimal | None) -> Decimal | None:
        return self.left_ml if ml is None or self.holds_ml is None else min(ml, self.holds_ml)

    @property
    def unsure(self) -> str:
        """Why nothing may run before it was seen, in words; empty when nothing speaks against it."""
        if self.doubt:
            return self.doubt
        if self.left_ml is not None and self.most_ml and self.left_ml <= self.most_ml:
            return (
                f"{max(self.left_ml, Decimal(0)):f} mL may be all that is left, and one bottle took {self.most_ml:f} mL"
            )
        return ""

    def old(self, now_wall_ns: int) -> str:
        """Say that nobody has looked for too long, or that the clock ran back since; empty where neither."""
        if self.seen is None or 0 <= now_wall_ns - self.seen.wall_ns <= SEEN_S * NS:
            return ""
        return "nobody has looked at it for an hour"


NOT_KNOWN = Tank()


def of(procedure: Procedure) -> Tank:
    """Return the reservoir of a procedure before anything is said of it."""
    given = parse(procedure.reservoir, place="reservoir") if procedure.reservoir else None
    return Tank(None if given is None else _ml(given.value, given.unit))


def _ml(value: str, unit: str) -> Decimal | None:
    return Decimal(value) * PER_UNIT[unit] if unit in PER_UNIT else None
