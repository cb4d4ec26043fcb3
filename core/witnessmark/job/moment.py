"""How long ago an entry was written: what age a reading has and how long a motor has rested.

Rule that holds here: within one boot the monotonic clock counts; across boots wall time does, and where even that runs
back nothing is known (None), which no caller may take for long enough.
"""

from __future__ import annotations

from witnessmark.clock import NS, Stamp
from witnessmark.journal.entry import Recorded


def since_ns(recorded: Recorded, now: Stamp, boot_id: str) -> int | None:
    """Return the nanoseconds from `recorded` to `now`; None when the clocks do not tell."""
    if recorded.boot_id == boot_id and recorded.mono_ns <= now.mono_ns:
        return now.mono_ns - recorded.mono_ns
    if recorded.boot_id != boot_id and recorded.wall_ns <= now.wall_ns:
        return now.wall_ns - recorded.wall_ns
    return None


def in_seconds(ns: int, digits: int = 1) -> str:
    """Write nanoseconds as seconds."""
    return f"{ns / NS:.{digits}f}"
