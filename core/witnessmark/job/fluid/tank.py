"""What the reservoir may still hold: fillings, levels and what ran out flow in, why its level must be seen flows out.

Rules that hold here: it must be seen before the next run after a pause, behind a mend that opened a line, when nobody
has looked for `SEEN_S`, and when as much as one pass may take may be all that is left: what one took already, before
that what the procedure has one take, and where neither is known `SHARE` of what it holds; filling it up answers each of
them, a level those of time, and that of what is left where there is more; one said beside the walk with its volume adds
that much and no more. What was misread counts no more, and its level is seen then. Of a bottle that holds what ran out
before its level was seen, for its pass was done again, only the rest counts, as sure as the procedure's tolerance.
Volumes count in mL and L alone: here nothing is converted.
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
    was read of each pass, in mL. `sure_ml` is how sure sums of volumes are. `filling` are the passes with whose bottle
    it is still to be read what ran out, `counted_ml` how much of that its level showed already.
    """

    holds_ml: Decimal | None = None
    left_ml: Decimal | None = None
    most_ml: Decimal = Decimal(0)
    pass_ml: Decimal | None = None
    seen: Recorded | None = None
    doubt: str = ""
    before: tuple[str, str, Decimal | None, Decimal, Taken] | None = None
    taken: Taken = ()
    sure_ml: Decimal | None = None
    filling: frozenset[str] = frozenset()
    counted_ml: Decimal = Decimal(0)

    def after(self, body: bodies.StepDone | bodies.Reading, empty: bool | None, at: Recorded) -> Tank:
        """Return what it holds after an entry that says it was emptied (True), filled up (False), or neither."""
        read = to_ml(body.amount.value, body.amount.unit) if isinstance(body, bodies.Reading) else None
        before = (body.step, body.pass_id, self.left_ml, self.most_ml, self.taken)
        beside = body.step == SAID_FILLED and read is not None
        if empty is not None and not beside:
            left = Decimal(0) if empty else self.holds_ml
            took = read if isinstance(body, bodies.Reading) and body.what == FILLED and not empty else None
            counted = self._counted(None if took is None or self.holds_ml is None else self.holds_ml - took)
            anew = replace(self, left_ml=left, before=before if empty else None, counted_ml=counted)
            return anew if empty else replace(anew, seen=at, doubt="")
        if not isinstance(body, bodies.Reading):
            return self
        if body.what == LEVEL and body.within is not False:
            return replace(
                self,
                left_ml=self._at_most(read),
                counted_ml=self._counted(read),
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
            left = None if left is None else left - self._since_seen(body.pass_id, read)
            taken = dict(self.taken)
            taken[body.pass_id] = taken.get(body.pass_id, Decimal(0)) + read
            most = max(self.most_ml, read)
            anew = self.emptied() if body.pass_id in self.filling else self
            return replace(anew, left_ml=left, most_ml=most, before=before, taken=tuple(taken.items()))
        return self

    def _counted(self, seen_ml: Decimal | None) -> Decimal:
        """Return how much of what is in the bottle still to be read is counted once it was seen how much is left."""
        if not self.filling or None in (seen_ml, self.left_ml, self.sure_ml):
            return self.counted_ml
        assert seen_ml is not None and self.left_ml is not None and self.sure_ml is not None
        return self.counted_ml + max(Decimal(0), self.left_ml - seen_ml - self.sure_ml)

    def _since_seen(self, pass_id: str, read: Decimal) -> Decimal:
        """Return how much of a bottle ran out since its level was seen: all of it where it holds less than was."""
        return read - self.counted_ml if pass_id in self.filling and read >= self.counted_ml else read

    def emptied(self) -> Tank:
        """Return what it holds where no bottle holds anything that is still to be read."""
        return replace(self, filling=frozenset(), counted_ml=Decimal(0))

    def slipped(self) -> Tank:
        """Return what it holds where what was said of it before a pass was a slip: it is looked at again."""
        doubted = replace(self.emptied(), doubt="what was said of it was a slip")
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

    def unread(self, filling: frozenset[str] = frozenset()) -> Tank:
        """Return what it holds after a bottle that nobody read: its level says how much that was.

        `filling`: the passes with whose bottle that is read in the end.
        """
        kept = self if filling == self.filling else self.emptied()
        kept = replace(kept, filling=filling) if not self.doubt else self.emptied()
        return replace(kept, doubt="how much the last bottle took was not read")

    def opened(self) -> Tank:
        """Return what it holds after a line was opened for a mend, or may have been: nobody read what that lost."""
        return replace(self.emptied(), doubt="a line was opened for a mend, or may have been")

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
        in_it = None if self.left_ml is None or what != VOLUME else self.left_ml + self.counted_ml
        known = [self.holds_ml, in_it]
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
    sure = parse(procedure.balance_tolerance, place="balance_tolerance") if procedure.balance_tolerance else None
    holds_ml, sure_ml = (None if one is None else to_ml(one.value, one.unit) for one in (given, sure))
    return Tank(holds_ml, pass_ml=max(takes, default=None), sure_ml=sure_ml)


def to_ml(value: str, unit: str) -> Decimal | None:
    """Return a volume in mL; None where it is in no unit of volume."""
    return Decimal(value) * PER_UNIT[unit] if unit in PER_UNIT else None
