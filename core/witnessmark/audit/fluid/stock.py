"""How much was in the reservoir, by what the record says of it: levels, what was taken out and what was filled in.

A case flows in, bounds in mL flow out. Rules that hold here: what was read counts before what the reservoir is built to
hold, and never more than that; a level that was read as a volume counts from where it draws air; sums of readings are
as sure as the procedure's tolerance of the balance, so that within it they may come to more than it can hold, and where
it gives none more may have been in it; a level, or what was taken out, that the procedure asks for before the first
filling and nobody read makes what was in it less sure, never more; filled up to the mark it holds what it held when it
was so first; between fillings it only falls, so that what is seen in it shows that as much stood in it ever since the
filling before; where its level was set, and nobody read by how much, it may have been filled or drawn off, and nothing
shows of what was in it before; a look that was taken back as a slip shows nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from witnessmark import quantity
from witnessmark.audit.case import Case
from witnessmark.audit.fluid.volumes import in_ml
from witnessmark.audit.moments import Moments
from witnessmark.audit.timeline import Gauge, Opening
from witnessmark.procedure import own

LAST = 1 << 62
"""After every entry."""
SAID_FILLED = own.SAID_FILLED
"""The step by which it is said beside the walk that it was filled: up, where no volume is written."""
VOLUMES = ("mL", "L")
TAKEN = ("volume-removed", "volume-drawn")
"""What is taken out of the reservoir itself."""


@dataclass(frozen=True, slots=True)
class Volume:
    """A volume in mL that is not known better than between two bounds."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Stock:
    """What was in it, in mL; `ml` is what was read, where that says it, and `cites` the entries that say so.

    Sums of readings may come to `over` more than `high`, for they are no surer than that.
    """

    low: float
    high: float
    over: float = 0.0
    ml: float | None = None
    read: bool = False
    cites: tuple[int, ...] = ()

    @property
    def most(self) -> float:
        return self.high + self.over

    def less(self, out: Volume) -> Stock:
        """Return what may be left when that ran out."""
        ml = None if self.ml is None or out.low != out.high else max(0.0, self.ml - out.low)
        low, high, most = max(0.0, self.low - out.high), max(0.0, self.high - out.low), max(0.0, self.most - out.low)
        return replace(self, low=low, high=high, over=most - high, ml=ml)

    def either(self, other: Stock) -> Stock:
        """Return what was in it where it may have been this or that."""
        low, high, most = min(self.low, other.low), max(self.high, other.high), max(self.most, other.most)
        ml = self.ml if self.ml == other.ml else None
        return replace(
            self, low=low, high=high, over=most - high, ml=ml, cites=tuple(sorted({*self.cites, *other.cites}))
        )

    def spell(self, tolerance: str) -> str:
        """Say what was in it, with how sure that is where the procedure says it."""
        if not self.read:
            return f"the reservoir held at most {quantity.plain(self.high)} mL"
        if self.ml is None:
            return f"of {quantity.plain(self.low)} to {quantity.plain(self.high)} mL in it as read"
        sure = f", {tolerance} either way" if tolerance else ""
        return f"of {quantity.plain(self.ml)} mL in it as read{sure}"


@dataclass(frozen=True, slots=True)
class Reservoir:
    """What a case says of its reservoir: `holds` until it draws air, and `sure_ml` is how sure sums are, None unknown.

    `full` is what it holds when it is filled up, once that was read.
    """

    case: Case
    holds: float
    sure_ml: float | None
    full: Stock | None = None

    def at_first(self, seq: int) -> tuple[Stock, Reservoir]:
        """Return what was in it after the first filling, and what is known of it since."""
        added = self.case.timeline.gauge(seq)
        if added is None or added.what != "volume-in":
            return self._at_most(self.holds), self
        level, taken, unread = self._before(seq)
        ml = in_ml([added])
        if level is None and not unread:
            return self._at_most(self.holds if filled_up(self.case, seq) else max(0.0, ml)), self
        cites = tuple(one.seq for one in (level, *taken) if one is not None)
        if level is None:
            least = self._at_most(self.around(ml, cites).low)
            return self._marked(seq, replace(least, read=True, cites=cites))
        left = max(0.0, in_ml([level]) - in_ml(taken))
        stock = self.around(left + ml, cites)
        if unread:
            stock = replace(stock, low=self.around(ml, cites).low, ml=None, read=True)
        return self._marked(seq, stock)

    def filled(self, stock: Stock, seq: int, *, sure: bool) -> tuple[Stock, Reservoir]:
        """Return what was in it after a later filling; not `sure` where something ran out of it meanwhile."""
        more = filled_in(self.case, seq, self.holds)
        low, high = (min(self.holds, one + more) for one in (stock.low, stock.high))
        ml = None if stock.ml is None or stock.ml + more > self.holds else stock.ml + more
        most = min(self._at_most(0.0).most, stock.most + more)
        added = replace(stock, low=low, high=high, over=most - high, ml=ml)
        if not sure or lacks(self.case, seq):
            return added, self
        if self.full is None:
            return self._marked(seq, added) if added.read else (replace(added, low=high), self)
        known = self.full
        if known.low > high:
            return added, self
        ml = known.ml if known.high <= high else None
        high = min(known.high, high)
        return replace(known, high=high, over=min(known.most, most) - high, ml=ml), self

    def seen(self, seq: int) -> tuple[str, Volume | None] | None:
        """Return in words what an entry shows of what stood in it right before, and how much; None where it shows none.

        A level that was read, a filling up to the mark, by how much it took, or a look that found it high enough, which
        says not how much.
        """
        gauge = self.case.timeline.gauge(seq)
        if gauge is not None and gauge.what == "level":
            found = self.around(in_ml([gauge]), ())
            return f"{quantity.plain(in_ml([gauge]))} mL stood in it then (entry {seq})", Volume(found.low, found.most)
        if seq in looked(self.case):
            return f"it was seen to stand well above where it draws air (entry {seq})", None
        if (took := self.took(seq)) is None or open_at(self.case, seq):
            return None
        more, left = took
        return f"to fill it up to the mark again took {quantity.plain(more)} mL (entry {seq})", left

    def after(self, stock: Stock, one: Gauge) -> Stock:
        """Return what was in it after its level was read, or after some was taken out of what was in `stock`."""
        ml = in_ml([one])
        return self.around(ml, (one.seq,)) if one.what == "level" else stock.less(Volume(ml, ml))

    def levelled(self, stock: Stock) -> Stock:
        """Return what was in it after its level was set, up or down, and nobody read by how much."""
        return replace(self._at_most(0.0), cites=stock.cites)

    def around(self, ml: float, cites: tuple[int, ...]) -> Stock:
        """Return what was in it where readings come to `ml`."""
        low = min(self.holds, max(0.0, ml - (self.sure_ml or 0.0)))
        if low >= self.holds:
            return self._at_most(low)
        most = self.holds if self.sure_ml is None else min(self.holds, ml) + self.sure_ml
        high, known = min(self.holds, most), ml if ml <= self.holds else None
        return Stock(low, high, most - high, known, read=True, cites=cites)

    def took(self, seq: int) -> tuple[float, Volume] | None:
        """Return how much a filling up to the mark took, and what was left before it; None where nobody read it."""
        more = filled_in(self.case, seq, -1.0)
        if more < 0 or lacks(self.case, seq):
            return None
        full = self.full or self._at_most(self.holds)
        return more, Volume(full.low - more, full.most - more)

    def _at_most(self, low: float) -> Stock:
        """Return what was in it where nothing says that it was less than what it holds."""
        return Stock(min(self.holds, low), self.holds, self.sure_ml or 0.0)

    def _marked(self, seq: int, stock: Stock) -> tuple[Stock, Reservoir]:
        known = stock.read and filled_up(self.case, seq)
        return stock, replace(self, full=stock) if known else self

    def _before(self, seq: int) -> tuple[Gauge | None, Sequence[Gauge], bool]:
        """Return its last level before an entry, what was taken out since, and whether less may have been left."""
        levels = [one for one in _levels(self.case) if one.seq < seq]
        since = levels[-1].seq if levels else -1
        taken = [one for one in _taken(self.case) if since < one.seq < seq]
        counted = {one.seq for one in taken} if levels else set()
        emptied = {act.seq for act in self.case.timeline.acts_affecting("empty") if since < act.seq < seq}
        asked = {one.what for one in self.case.procedure.steps_before if one.unit in VOLUMES}
        read = {one.what for one in (*levels, *_taken(self.case)) if one.seq < seq}
        unread = bool(emptied - counted or asked & {"level", "volume-removed"} - read)
        return (levels[-1] if levels else None), taken, unread


def reservoir(case: Case) -> Reservoir:
    """Return the reservoir of a case whose procedure says what it holds."""
    holds, sure = case.procedure.reservoir, case.procedure.balance_tolerance
    holds_ml = quantity.convert(quantity.parse(holds, place="reservoir"), "mL")
    sure_ml = quantity.convert(quantity.parse(sure, place="balance_tolerance"), "mL") if sure else None
    return Reservoir(case, holds_ml, sure_ml)


def readings_between(case: Case, first: int, *, mended: bool) -> Iterator[Gauge]:
    """Yield each level, and what was taken out, after the first filling and before the last nipple was opened.

    Where a line was opened for a mend, also those after it.
    """
    last = LAST if mended else max((one.opened or 0 for one in case.timeline.openings), default=0)
    yield from (one for one in (*_levels(case), *_taken(case)) if first < one.seq < last)


def _levels(case: Case) -> list[Gauge]:
    slips = _slips(case)
    return [one for one in case.timeline.readings("level") if one.amount.unit in VOLUMES and one.seq not in slips]


def levelled(case: Case) -> frozenset[int]:
    """Return the entries by which its level was set, without a volume: as much as it holds may have been filled in."""
    said = (act.seq for act in case.timeline.acts_affecting("level-set"))
    read = ((seq, case.timeline.gauge(seq)) for seq in said)
    return frozenset(seq for seq, one in read if one is None or one.what not in ("volume-in", *TAKEN))


def looked(case: Case) -> tuple[int, ...]:
    """Return the looks that found it well above where it draws air, without those taken back as a slip."""
    return tuple(seq for seq in _looks(case) if seq not in _slips(case))


def _looks(case: Case) -> list[int]:
    """Return the looks that found it so, and not those that did not."""
    said = case.timeline.said(own.LEVEL_LOOK)
    return [act.seq for act in said if act.done and not act.affects and not act.looked]


def _slips(case: Case) -> frozenset[int]:
    """Return the looks and levels that were taken back as a slip, each time the last that still stands."""
    taken = [act.seq for act in case.timeline.said(own.PUT_RIGHT) if act.answer == own.LEVEL_LOOK]
    if not taken:
        return frozenset()
    read = (one.seq for one in case.timeline.readings("level") if one.step == own.LEVEL_LOOK)
    stand: list[int] = []
    said = {*_looks(case), *read}
    slips = set()
    for seq in sorted({*said, *taken}):
        if seq in said:
            stand.append(seq)
        elif stand:
            slips.add(stand.pop())
    return frozenset(slips)


def _taken(case: Case) -> list[Gauge]:
    return sorted((one for what in TAKEN for one in case.timeline.readings(what)), key=lambda one: one.seq)


def filled_up(case: Case, seq: int) -> bool:
    """Whether an entry says that it was filled up; one said beside the walk that gives its volume does not."""
    read = case.timeline.gauge(seq)
    said = case.timeline.ours.intersection((SAID_FILLED,))
    beside = read is not None and read.what == "volume-in" and read.step in said
    return not beside and any(act.seq == seq for act in case.timeline.acts_affecting("refill"))


def filled_in(case: Case, seq: int, full: float) -> float:
    """Return how much was filled in by an entry; `full` for one without a volume, which says that it was filled up."""
    read = case.timeline.gauge(seq)
    return in_ml([read]) if read is not None and read.what == "volume-in" else full


def lacks(case: Case, seq: int) -> str:
    """Say why a filling does not show that it was full then; empty where it does."""
    if not filled_up(case, seq):
        return "nobody said that it was filled up"
    return "" if filled_in(case, seq, 1.0) > 0 else "nothing went in"


def open_at(case: Case, seq: int) -> bool:
    """Whether a nipple stood open as this entry was made."""
    lasting = case.once("openings-by-entry", lambda: lasting_by_entry(case.timeline.openings))
    return bool(lasting.within(seq, seq))


def lasting_by_entry(openings: Iterator[Opening] | Sequence[Opening]) -> Moments[Opening]:
    """Return openings by the entries from which to which they lasted."""
    return Moments(openings, lambda one: (one.opened or 0, LAST if one.closed is None else one.closed))
