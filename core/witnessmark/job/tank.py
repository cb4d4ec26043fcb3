"""What the reservoir may still hold: fillings, levels and what ran out flow in, why its level must be seen flows out.

Rules that hold here: it must be seen before the next run after a pause, when nobody has looked for `SEEN_S`, and when
as much as one pass may take may be all that is left: what one took already, before that what the procedure has one
take, and where neither is known `SHARE` of what it holds; filling it up answers each of them, a level those of time,
and that of what is left where there is more; one said beside the walk with its volume adds that much and no more. What
was misread counts no more, and its level is seen then. Volumes count in mL and L alone: here nothing is converted.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from witnessmark.clock import NS
from witnessmark.journal import bodies
from witnessmark.journal.entry import Recorded
from witnessmark.procedure import own
from witnessmark.procedure.model import Procedure
from witnessmark.quantity import parse

SEEN_S = 3600
"""How long a level holds that was seen: a choice of this project, no source."""
SHARE = Decimal("0.5")
"""How much of what it holds one pass may take while nothing says how much: a choice of this project, no source."""
LEVEL, VOLUME, FILLED, DRAWN, REMOVED = "level", "volume", "volume-in", "volume-drawn", "volume-removed"
DRAWN_OFF = own.DRAWN_OFF
"""The step by which it is said beside the walk that fluid was drawn off to lower its level."""
SAID_FILLED = own.SAID_FILLED
"""The step by which it is said beside the walk that it was filled: up, where no volume is written."""
OF_IT = (LEVEL, VOLUME, FILLED, DRAWN, REMOVED)
"""What is read and cannot be more than the reservoir holds, or than is in it."""
SLIPS = (own.LEVEL_LOOK, own.AIR_DRAWN, own.SAID_EMPTY)
"""What is said of it with one key, and may be taken back: what it held before holds again."""
PER_UNIT = {"mL": 1, "L": 1000}
Taken = tuple[tuple[str, Decimal], ...]


@dataclass(frozen=True, slots=True)
class Tank:
    """`holds_ml` is what it holds until it draws air, `left_ml` what may be left of it, None where not known.

    `most_ml` is the most that one reading of a bottle was, `pass_ml` the most that the procedure has one be, `seen`
    when its level was seen or it was filled last, `doubt` why it must be seen whatever is left. `before` is
    the step and pass of the volume that was read last, with `left_ml`, `most_ml` and `taken` before it. `taken` is what
    was read of each pass, in mL.
    """

    holds_ml: Decimal | None = None
    left_ml: Decimal | None = None
    most_ml: Decimal = Decimal(0)
    pass_ml: Decimal | None = None
    seen: Recorded | None = None
    doubt: str = ""
    before: tuple[str, str, Decimal | None, Decimal, Taken] | None = None
    taken: Taken = ()

    def after(self, body: bodies.StepDone | bodies.Reading, empty: bool | None, at: Recorded) -> Tank:
        """Return what it holds after an entry that says it was emptied (True), filled up (False), or neither."""
        read = to_ml(body.amount.value, body.amount.unit) if isinstance(body, bodies.Reading) else None
        before = (body.step, body.pass_id, self.left_ml, self.most_ml, self.taken)
        beside = body.step == SAID_FILLED and read is not None
        if empty is not None and not beside:
            left = Decimal(0) if empty else self.holds_ml
            anew = replace(self, left_ml=left, before=before if empty else None)
            return anew if empty else replace(anew, seen=at, doubt="")
        if not isinstance(body, bodies.Reading):
            return self
        if body.what == LEVEL and body.within is not False:
            return replace(
                self,
                left_ml=self._at_most(read),
                seen=at,
                doubt="",
                before=before if body.step == own.LEVEL_LOOK else None,
            )
        left = Decimal(0) if self.left_ml is None and beside else self.left_ml
        if body.what == FILLED and read is not None and left is not None:
            return replace(self, left_ml=self._at_most(left + read), before=before)
        if body.what == DRAWN and read is not None and left is not None:
            return replace(self, left_ml=left - read, before=before)
        if body.what == VOLUME and read is not None:
            left = None if left is None else left - read
            taken = dict(self.taken)
            taken[body.pass_id] = taken.get(body.pass_id, Decimal(0)) + read
            most = max(self.most_ml, read)
            return replace(self, left_ml=left, most_ml=most, before=before, taken=tuple(taken.items()))
        return self

    def slipped(self) -> Tank:
        """Return what it holds where what was said of it before a pass was a slip: it is looked at again."""
        doubted = replace(self, doubt="what was said of it was a slip")
        if self.before is None or self.before[0] not in SLIPS:  # it stands high enough: that says not how high
            return doubted
        return replace(doubted, left_ml=self.before[2], before=None)

    def misread(self, step: str, pass_id: str) -> Tank:
        """Return what it holds where the volume read last at a step was misread; as it is where that was another."""
        if step in (own.LEVEL_LOOK, own.AIR_DRAWN):
            return self.slipped()
        if self.before is None or self.before[:2] != (step, pass_id):
            return self
        _, _, left, most, taken = self.before
        return replace(self, left_ml=left, most_ml=most, taken=taken, before=None, doubt="a volume was misread")

    def unread(self) -> Tank:
        """Return what it holds after a bottle that nobody read: its level says how much that was."""
        return replace(self, doubt="how much the last bottle took was not read")

    def _at_most(self, ml: Decimal | None) -> Decimal | None:
        if ml is None or self.holds_ml is None:
            return ml if ml is not None else self.left_ml
        return min(ml, self.holds_ml)

    @property
    def unsure(self) -> str:
        """Why nothing may run before it was seen, in words; empty when nothing speaks against it."""
        if self.doubt:
            return self.doubt
        full = self.holds_ml is not None and self.left_ml is not None and self.left_ml >= self.holds_ml
        takes_ml, says = self._one_pass
        if full or self.left_ml is None or takes_ml is None or self.left_ml > takes_ml:
            return ""
        return f"{max(self.left_ml, Decimal(0)):f} mL may be all that is left, and {says}"

    @property
    def _one_pass(self) -> tuple[Decimal | None, str]:
        """How much one pass may take, and in words what says so."""
        if self.most_ml:
            return self.most_ml, f"one bottle took {self.most_ml:f} mL"
        if self.pass_ml is not None:
            return self.pass_ml, f"a pass may take {self.pass_ml:f} mL"
        if self.holds_ml is None:
            return None, ""
        half_ml = (self.holds_ml * SHARE).normalize()
        return half_ml, f"as long as no bottle was read one pass is taken to need {half_ml:f} mL"

    def most(self, what: str, unit: str, most: str) -> str:
        """Return the most that a reading can be: `most`, or what it holds, or what may be in it where that is less."""
        known = [self.holds_ml, self.left_ml if what == VOLUME else None]
        here = [one / PER_UNIT[unit] for one in known if one is not None and one > 0 and unit in PER_UNIT]
        return f"{min(Decimal(most), *here).normalize():f}" if what in OF_IT and here else most

    def old(self, now_wall_ns: int) -> str:
        """Say that nobody has looked for too long, or that the clock ran back since; empty where neither."""
        if self.seen is None or 0 <= now_wall_ns - self.seen.wall_ns <= SEEN_S * NS:
            return ""
        return "nobody has looked at it for an hour"


NOT_KNOWN = Tank()


def of(procedure: Procedure) -> Tank:
    """Return the reservoir of a procedure before anything is said of it."""
    given = parse(procedure.reservoir, place="reservoir") if procedure.reservoir else None
    ends = [one.volume.high or one.volume.low for one in procedure.passes if one.volume is not None]
    volumes = [parse(one, place="volume") for one in ends if one]
    takes = [ml for one in volumes if (ml := to_ml(one.value, one.unit)) is not None]
    return Tank(None if given is None else to_ml(given.value, given.unit), pass_ml=max(takes, default=None))


def to_ml(value: str, unit: str) -> Decimal | None:
    """Return a volume in mL; None where it is in no unit of volume."""
    return Decimal(value) * PER_UNIT[unit] if unit in PER_UNIT else None
