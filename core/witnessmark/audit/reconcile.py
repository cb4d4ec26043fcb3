"""One clock for all entries of a job, and where the clocks that were read do not agree.

Entries flow in, in the order of the journal. Out flow the moment of each on one clock (ns, near wall time), and the
disturbances found. Rules that hold here: durations come from the monotonic clock, never from wall time; within one
boot it goes on over a restart of the program, and what the machine slept is added; between two boots only wall time is
left, and a second boot never begins before the last entry of the first (the order is the journal's); so it is where
the job went on at another machine. A person's time
is moved along with the entry that holds it, so that a clock set between two entries moves no step; a time entered
afterwards stays as it was entered. Where another program wrote on at another rate (practice time, then an entry made at
the desk), the two clocks cannot be compared, and nothing was stepped.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import msgspec

from witnessmark.journal.entry import Entry
from witnessmark.range import Range

STEP_NS = 500_000_000
STEP_PPM = 100
"""A clock was stepped where wall and monotonic change differ by more than 0.5 s + 100 ppm, also in several steps."""
CREPT_NS = 1_000_000
"""By how much more it must have moved for a later entry to be named: this project's choice, no source."""


@dataclass(frozen=True, slots=True)
class Disturbance:
    """`stepped`: wall time moved by `by_ns` against the monotonic clock; `crept`: it did in steps too small to show;
    `asleep`: the machine slept for `by_ns`; `reboot`: the monotonic clock began anew; `backwards`: it ran back;
    `another`: the job went on at another machine, whose wall time was `by_ns` after the last one's. Between entries
    `cites`."""

    kind: str
    by_ns: int
    cites: tuple[int, int]


class _Clocks(msgspec.Struct, frozen=True, gc=False):
    """What the clocks stood at when an entry was written, each read out of its text once."""

    entry: Entry
    wall_ns: int
    mono_ns: int
    boot_ns: int | None
    boot_id: str
    rate: int


class Reconciled:
    """Where each entry and each monotonic moment lies on the one clock."""

    def __init__(self, entries: Sequence[Entry]) -> None:
        self._offset_ns: dict[int, int] = {}
        self.entered: dict[int, int] = {}
        """When each entry was written, by seq."""
        self._occurred: dict[int, Range] = {}
        self.live: set[int] = set()
        """The entries that were made as what they tell of was done, by seq."""
        self.disturbances: list[Disturbance] = []
        self._beside: set[int] = set()
        self._crept: Disturbance | None = None
        self._still: _Clocks | None = None
        self._moved_ns = 0
        offset = 0
        last: _Clocks | None = None
        latest, fastest, aside = 0, 1, False
        for entry in entries:
            read = entry.recorded
            wall_ns, mono_ns, boot_ns = read.clocks()
            now = _Clocks(entry, wall_ns, mono_ns, boot_ns, read.boot_id, read.rate)
            if last and last.boot_id == now.boot_id and last.rate == now.rate and last.mono_ns <= mono_ns:
                offset += self._compare(last, now)
            else:
                offset = max(wall_ns, latest) - mono_ns
                self._begin_anew(last, now)
                fastest = max(fastest, read.rate)
                aside = read.rate == 1 < fastest
            if aside:
                self._beside.add(entry.seq)
            if self._still is None:
                self._still, self._moved_ns = now, 0
            recorded, seq, happened = mono_ns + offset, entry.seq, entry.occurred
            self._offset_ns[seq] = offset
            self.entered[seq] = recorded
            shift = 0 if happened.basis in AFTERWARDS else recorded - wall_ns
            at = self._occurred[seq] = Range(int(happened.start) + shift, int(happened.end) + shift)
            if at.low <= recorded <= at.high + WRITTEN_NS * read.rate and happened.basis not in NOT_LIVE:
                self.live.add(seq)
            if recorded > latest:
                latest = recorded
            last = now

    def recorded(self, entry: Entry) -> int:
        """Return when the entry was written."""
        return self.entered[entry.seq]

    def mono(self, entry: Entry, mono_ns: int) -> int:
        """Return when the process that wrote the entry saw its monotonic clock at `mono_ns`."""
        return mono_ns + self._offset_ns[entry.seq]

    def occurred(self, entry: Entry) -> Range:
        """Return when what the entry tells of happened."""
        return self._occurred[entry.seq]

    def beside(self, entry: Entry) -> bool:
        """Say whether an entry was written on the system's clock where the job had lived by a practice clock."""
        return entry.seq in self._beside

    def told(self, entry: Entry) -> Range:
        """Return when what the entry tells of happened, as papers say it: one that is `beside` by its own clock.

        That may lie before the entries before it, which is why the audit does not reckon with it.
        """
        at = entry.occurred
        return Range(int(at.start), int(at.end)) if self.beside(entry) else self.occurred(entry)

    def _begin_anew(self, last: _Clocks | None, now: _Clocks) -> None:
        """Note why the monotonic clock of an entry does not go on from that of the one before, where there is one."""
        if last is None:
            return
        wall, mono = now.wall_ns - last.wall_ns, now.mono_ns - last.mono_ns
        if last.boot_id != now.boot_id:
            self._settle()
            self._note("another" if now.entry.kind == "moved" else "reboot", wall, last, now)
        elif last.rate != now.rate and last.entry.recorded.process != now.entry.recorded.process:
            self._settle()
        elif mono < 0:
            self._settle()
            self._note("backwards", mono, last, now)
        else:
            self._compare(last, now)

    def _compare(self, last: _Clocks, now: _Clocks) -> int:
        """Note what disturbed the clocks between two entries; return how long the monotonic clock stood still."""
        wall, mono = now.wall_ns - last.wall_ns, now.mono_ns - last.mono_ns
        asleep = 0 if last.boot_ns is None or now.boot_ns is None else max(0, now.boot_ns - last.boot_ns - mono)
        if asleep > STEP_NS:
            self._note("asleep", asleep, last, now)
        moved = wall - mono - asleep
        if abs(moved) > STEP_NS and _differ(moved, mono):
            self._settle()
            self._note("stepped", moved, last, now)
            return asleep
        self._moved_ns += moved
        if abs(self._moved_ns) > STEP_NS:
            self._creep(now)
        return asleep

    def _note(self, kind: str, by_ns: int, last: _Clocks, now: _Clocks) -> None:
        self.disturbances.append(Disturbance(kind, by_ns, (last.entry.seq, now.entry.seq)))

    def _creep(self, now: _Clocks) -> None:
        """Note where wall time has moved since the clocks were last disturbed, by steps each too small to show."""
        still, by = self._still, self._moved_ns
        if still is None or not _differ(by, now.mono_ns - still.mono_ns):
            return
        one = Disturbance("crept", by, (still.entry.seq, now.entry.seq))
        if self._crept is None:
            self.disturbances.append(one)
        elif abs(by) > abs(self._crept.by_ns) + CREPT_NS:
            self.disturbances[self.disturbances.index(self._crept)] = one
        else:
            return
        self._crept = one

    def _settle(self) -> None:
        """Begin anew to look for small steps: what lies before is said, or cannot be compared."""
        self._still, self._crept = None, None


def _differ(by_ns: int, mono_ns: int) -> bool:
    """Say whether two clocks that moved by so much against each other in a time (ns) do not agree."""
    return abs(by_ns) > STEP_NS and abs(by_ns) > STEP_NS + mono_ns * STEP_PPM // 1_000_000


WRITTEN_NS = 1_000_000_000
"""How long after a touch its entry may stand in the journal: this project's choice, no source."""
AFTERWARDS = ("typed", "recording")
"""The bases of `occurred` whose time was not read off the clock of the machine that wrote the entry."""
NOT_LIVE = (*AFTERWARDS, "cue")
"""The bases of what may not have been done as its entry was made, whatever the clocks say."""
