"""One direction of a TCP connection put in order: segments in, runs of bytes out (RFC 9293, 3.4: sequence numbers).

Rules: a segment is placed by its sequence number, modulo 2^32. What was delivered before and comes again is dropped;
what comes too early waits until the gap before it is filled, at most `HOLD` bytes or until the end. A gap that is never
filled is told and starts a new run: nothing is spliced across it. Other bytes under a sequence number that was already
delivered are no retransmission: they are a connection of their own, so they start a new run as well. A capture that
begins inside a connection has no first number: the lowest of the first `SETTLE` segments is taken for it.
"""

from __future__ import annotations

from typing import NamedTuple

HOLD = 1 << 20
"""How many bytes may wait for a gap to be filled."""
SETTLE = 16
"""How many segments are looked at before a stream without its SYN is begun."""
_MEMORY = 1 << 16


class Run(NamedTuple):
    """Bytes in order. `fresh` says that they do not follow what came before; `missing` how many bytes are known to be
    missing before them."""

    data: bytes
    time_ns: int
    number: int
    fresh: bool
    missing: int = 0


class Direction:
    """Puts the segments of one direction in order."""

    def __init__(self) -> None:
        self._next: int | None = None
        self._opened = False
        self._latest = (0, 0)
        self._first: list[tuple[int, bytes, int, int]] = []
        self._recent = bytearray()
        self._early: dict[int, tuple[bytes, int, int]] = {}
        self._held = 0

    def open(self, sequence: int) -> list[Run]:
        """Begin anew at a SYN: give what still waits, then expect the byte after it."""
        runs = self.finish()
        self._next, self._recent, self._opened = (sequence + 1) & 0xFFFF_FFFF, bytearray(), True
        return runs

    def feed(self, sequence: int, data: bytes, time_ns: int, number: int) -> list[Run]:
        """Let a segment in; return the runs that are in order now. `number` is the packet's."""
        if not data:
            return []
        if self._next is None:
            self._first.append((sequence, data, time_ns, number))
            return self._begin() if len(self._first) >= SETTLE else []
        ahead = _distance(self._next, sequence)
        if ahead == -1 and len(data) == 1:
            return []  # a keep-alive probe, whose byte may be anything (RFC 9293, 3.8.4)
        if ahead > 0:
            if sequence not in self._early or len(self._early[sequence][0]) < len(data):
                self._held += len(data) - len(self._early.get(sequence, (b"",))[0])
                self._early[sequence] = (data, time_ns, number)
            return self._jump() if self._held > HOLD else []
        known = min(-ahead, len(data))
        if ahead < 0 and not self._repeats(-ahead, data[:known]):
            return [self._deliver(sequence, data, time_ns, number, fresh=True)]
        runs = []
        if known < len(data):
            runs.append(self._deliver(self._next, data[known:], time_ns, number, fresh=False))
        return runs + self._follow()

    def finish(self) -> list[Run]:
        """Give what still waits for a gap to be filled, each gap told."""
        runs = self._begin()
        while self._early:
            runs += self._jump()
        return runs

    def _begin(self) -> list[Run]:
        """Begin a stream that has no SYN with the lowest number seen so far."""
        if not self._first:
            return []
        held, self._first = self._first, []
        base = held[0][0]
        near = [_distance(base, sequence) for sequence, *_ in held]
        self._next, self._opened = base + min(ahead for ahead in near if ahead > -HOLD) & 0xFFFF_FFFF, True
        return [run for segment in held for run in self.feed(*segment)]

    def _repeats(self, back: int, data: bytes) -> bool:
        """Whether `data` stood `back` bytes before the end of what was delivered; what is forgotten is believed."""
        if back > len(self._recent):
            return back > _MEMORY // 2 and len(self._recent) >= _MEMORY // 2
        start = len(self._recent) - back
        return self._recent[start : start + len(data)] == data

    def _deliver(self, sequence: int, data: bytes, time_ns: int, number: int, *, fresh: bool, missing: int = 0) -> Run:
        fresh, self._opened = fresh or self._opened, False
        if fresh:
            self._recent.clear()
        self._recent += data
        if len(self._recent) > _MEMORY:
            del self._recent[: len(self._recent) - _MEMORY // 2]
        self._next = sequence + len(data) & 0xFFFF_FFFF
        # What waited became readable with the segment that filled the gap: time goes on, never back.
        self._latest = max(self._latest, (number, time_ns))
        return Run(data, self._latest[1], self._latest[0], fresh, missing)

    def _follow(self) -> list[Run]:
        """Deliver what waited and is in order now."""
        runs: list[Run] = []
        assert self._next is not None
        while self._early:
            sequence = min(self._early, key=lambda early: _distance(self._next or 0, early))
            if _distance(self._next, sequence) > 0:
                break
            data, time_ns, number = self._take(sequence)
            known = -_distance(self._next, sequence)
            if known < len(data):
                runs.append(self._deliver(self._next, data[known:], time_ns, number, fresh=False))
        return runs

    def _jump(self) -> list[Run]:
        """Give the gap up and go on behind it."""
        assert self._next is not None
        here = self._next
        sequence = min(self._early, key=lambda early: _distance(here, early))
        data, time_ns, number = self._take(sequence)
        gap = _distance(here, sequence)
        return [self._deliver(sequence, data, time_ns, number, fresh=True, missing=gap), *self._follow()]

    def _take(self, sequence: int) -> tuple[bytes, int, int]:
        early = self._early.pop(sequence)
        self._held -= len(early[0])
        return early


def _distance(start: int, end: int) -> int:
    """How far `end` is ahead of `start`, negative when behind, in numbers modulo 2^32."""
    return (end - start + 0x8000_0000) % 0x1_0000_0000 - 0x8000_0000
