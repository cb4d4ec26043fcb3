"""How long ago an entry was written: what age a reading has and how long a motor has rested; whether the machine slept.

Rule that holds here: within one boot the clock counts that goes on while the machine sleeps, else the monotonic one;
across boots wall time does, and where even that runs back nothing is known (None), which no caller may take for long
enough.
"""

from __future__ import annotations

from datetime import datetime

from witnessmark.clock import NS, Clock, Stamp
from witnessmark.journal.entry import Recorded

MOST_ASLEEP_NS = NS // 2
"""Both clocks are read one after the other, so they differ a little; the audit takes the same half second."""


def since_ns(recorded: Recorded, now: Stamp, boot_id: str) -> int | None:
    """Return the nanoseconds from `recorded` to `now`; None when the clocks do not tell."""
    if recorded.boot_id == boot_id and recorded.mono_ns <= now.mono_ns:
        slept_ns = _ahead_ns(now) - _ahead_ns(recorded) if now.boot_ns and recorded.boot_ns else 0
        return now.mono_ns - recorded.mono_ns + max(0, slept_ns)
    if recorded.boot_id != boot_id and recorded.wall_ns <= now.wall_ns:
        return now.wall_ns - recorded.wall_ns
    return None


class Awake:
    """Notices that the machine has slept since this was made: its boot clock went on, its monotonic clock did not."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._ahead_ns = _ahead_ns(clock.stamp())

    def slept(self) -> str:
        """Say, once, that it slept; empty while it did not, or where there is no such clock."""
        ahead_ns = _ahead_ns(self._clock.stamp())
        slept_ns, self._ahead_ns = ahead_ns - self._ahead_ns, max(ahead_ns, self._ahead_ns)
        return f"the machine slept for {in_seconds(slept_ns, 0)} s" if slept_ns > MOST_ASLEEP_NS else ""


def _ahead_ns(moment: Stamp | Recorded) -> int:
    return 0 if moment.boot_ns is None else moment.boot_ns - moment.mono_ns


def clock(wall_ns: int) -> str:
    """Write a moment as the time of day of this machine."""
    return datetime.fromtimestamp(wall_ns / NS).strftime("%H:%M:%S")


def in_seconds(ns: int, digits: int = 1) -> str:
    """Write nanoseconds as seconds."""
    return f"{ns / NS:.{digits}f}"
