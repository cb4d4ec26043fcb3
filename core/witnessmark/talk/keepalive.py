"""The schedule of tester present while a session must hold: when the next is due, and what gaps there were.

Sans-IO: the loop that owns the wire asks `due_ns` and says `left` for each one sent, so that it cannot clash with a
request. The positive answer is suppressed (3E 80). Source: ISO 14229-2:2021, 8.3 (S3Client); ISO 14229-1:2020, 10.7.
"""

from __future__ import annotations

import itertools

from witnessmark.clock import NS
from witnessmark.link.frame import Peer
from witnessmark.wire.uds.timing import TESTER_PRESENT_S

TESTER_PRESENT = b"\x3e\x80"


class KeepAlive:
    """One stretch of keeping a session. `moments` are the monotonic ns at which one left."""

    def __init__(self, peer: Peer, start_ns: int, interval_s: float = TESTER_PRESENT_S) -> None:
        self.peer = peer
        self.start_ns = start_ns
        self.moments: list[int] = []
        self._interval_ns = round(interval_s * NS)

    def due_ns(self) -> int:
        """When the next one is due: an interval after the last, the first an interval after the start."""
        return (self.moments[-1] if self.moments else self.start_ns) + self._interval_ns

    def left(self, mono_ns: int) -> None:
        """One has left."""
        self.moments.append(mono_ns)

    def largest_gap_ns(self, end_ns: int) -> int:
        """The largest gap between start, each one sent, and `end_ns`."""
        edges = [self.start_ns, *self.moments, max(end_ns, self.start_ns)]
        return max(after - before for before, after in itertools.pairwise(edges))
