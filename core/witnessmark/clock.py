"""Time: `Stamp` and `Clock`. The only caller of the operating system's clocks.

Rules that hold here: deadlines and durations use `mono_ns`; wall time is for people; boot time goes on while the
machine sleeps, so that a suspend shows. A practice clock is another `Clock` whose time runs `rate` times as fast;
every stamp's journal form names the rate.
"""

from __future__ import annotations

import time
import uuid
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from witnessmark.errors import LocalError

NS = 1_000_000_000


@dataclass(frozen=True, slots=True)
class Stamp:
    """One moment on each clock that saw it, in nanoseconds.

    `wall_ns` since 1970-01-01 UTC, `mono_ns` and `boot_ns` since an unspecified start, `device_ns` on the interface's
    own clock. `boot_ns` and `device_ns` are None where there is no such clock.
    """

    wall_ns: int
    mono_ns: int
    boot_ns: int | None = None
    device_ns: int | None = None


class Clock(Protocol):
    """Gives stamps. `rate` is how many of its seconds pass in one real second (1 unless practising).

    `practice` says that it is the clock of a practice vehicle: what lives by it reaches no real one.
    """

    rate: int
    practice: bool

    def stamp(self, device_ns: int | None = None) -> Stamp: ...

    def mono_ns(self) -> int: ...

    def real_s(self, clock_s: float) -> float:
        """How many real seconds this clock takes for `clock_s` of its own: what to hand to `select`."""
        ...


class SystemClock:
    """The machine's own clocks at rate 1."""

    rate = 1
    practice = False

    def stamp(self, device_ns: int | None = None) -> Stamp:
        return Stamp(time.time_ns(), time.monotonic_ns(), _boot_ns(), device_ns)

    def mono_ns(self) -> int:
        return time.monotonic_ns()

    def real_s(self, clock_s: float) -> float:
        return clock_s


class PracticeClock:
    """The machine's clocks sped up `rate` times from the moment of `origin`.

    Two processes with the same origin agree on every clock. Only the practice vehicle may be driven by it.
    Raises LocalError for a rate outside 1 to 8.
    """

    practice = True

    def __init__(self, rate: int, origin: Stamp | None = None) -> None:
        if not 1 <= rate <= 8:
            raise LocalError(f"practice rate {rate} is not between 1 and 8", hint="use a whole number from 1 to 8")
        self.rate = rate
        self.origin = origin or SystemClock().stamp()

    def stamp(self, device_ns: int | None = None) -> Stamp:
        start = self.origin
        boot_now = _boot_ns()
        boot = None
        if start.boot_ns is not None and boot_now is not None:
            boot = start.boot_ns + (boot_now - start.boot_ns) * self.rate
        mono = self.mono_ns()
        return Stamp(start.wall_ns + (mono - start.mono_ns), mono, boot, device_ns)

    def mono_ns(self) -> int:
        return self.origin.mono_ns + (time.monotonic_ns() - self.origin.mono_ns) * self.rate

    def real_s(self, clock_s: float) -> float:
        return clock_s / self.rate


class ManualClock:
    """A clock that moves only when told: for tests and for reading recordings. Starts at `start_ns` on every clock."""

    rate = 1
    practice = False

    def __init__(self, start_ns: int = 1_700_000_000 * NS) -> None:
        self.now_ns = start_ns

    def stamp(self, device_ns: int | None = None) -> Stamp:
        return Stamp(self.now_ns, self.now_ns, self.now_ns, device_ns)

    def mono_ns(self) -> int:
        return self.now_ns

    def real_s(self, clock_s: float) -> float:
        return 0.0

    def advance(self, seconds: float) -> None:
        self.now_ns += round(seconds * NS)


def _boot_ns() -> int | None:
    clock_id = getattr(time, "CLOCK_BOOTTIME", None)
    return None if clock_id is None else time.clock_gettime_ns(clock_id)


def boot_id() -> str:
    """Return the operating system's id of this boot (Linux), or one made for this process where there is none."""
    path = Path("/proc/sys/kernel/random/boot_id")
    try:
        return path.read_text(encoding="ascii").strip()
    except OSError:
        return _PROCESS_BOOT_ID


_PROCESS_BOOT_ID = str(uuid.uuid4())
