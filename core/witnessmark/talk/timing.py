"""How long to wait for an answer and what keeps a session: the standard's, then the control unit's own, and the link's.

Rules that hold here: times are the clock's own seconds and nanoseconds; what the link adds is measured, with a floor,
because no program outside a real-time system can keep a server's 25-50 ms. On a clock that runs `rate` times as fast
the same real delay is `rate` times as long. Waiting longer than the standard asks costs time on silence and nothing
else. Source: ISO 14229-2:2021, clause 8.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from witnessmark.clock import NS
from witnessmark.wire.uds.requests import TESTER_PRESENT
from witnessmark.wire.uds.timing import P2_S, P2_STAR_S, S3_SERVER_S, session_timing

FLOOR_REAL_S = 0.25
"""The least that is added for link, driver and scheduler, in real seconds: a busy machine loses as much. No source."""


@dataclass(frozen=True, slots=True)
class Timing:
    """P2, P2* and S3 of one control unit in seconds, and the request that keeps its session."""

    p2_s: float = P2_S
    p2_star_s: float = P2_STAR_S
    s3_s: float = S3_SERVER_S
    keep_alive: bytes = TESTER_PRESENT

    def after_session(self, answer_payload: bytes) -> Timing:
        """Return these times with P2 and P2* as a positive session answer states them (ISO 14229-1, 10.2).

        Raises PeerError when the answer states none; these times go on holding then.
        """
        p2_s, p2_star_s = session_timing(answer_payload)
        return replace(self, p2_s=p2_s, p2_star_s=p2_star_s)


class Latency:
    """What the link adds to a server's time: the shortest round trip seen, and never less than the floor.

    The shortest, because it holds least of the server's own time. `rate` is the clock's.
    """

    def __init__(self, rate: int = 1, floor_real_s: float = FLOOR_REAL_S) -> None:
        self._floor_ns = round(floor_real_s * rate * NS)
        self._shortest_ns: int | None = None

    def saw(self, round_trip_ns: int) -> None:
        """Take in the time from a request having left to the first sign of its answer."""
        if self._shortest_ns is None or round_trip_ns < self._shortest_ns:
            self._shortest_ns = round_trip_ns

    @property
    def measured_ns(self) -> int | None:
        """The shortest round trip; None before the first answer."""
        return self._shortest_ns

    @property
    def added_ns(self) -> int:
        """What to add to P2 and P2*."""
        return max(self._floor_ns, self._shortest_ns or 0)
