"""Ordinary frames on the bus of the practice truck: wheel speeds, engine, body. Invented, and not diagnostic.

Rules that hold here: each kind keeps its own period; a delay of the process is caught up with, in order; the same seed
gives the same bytes.
"""

from __future__ import annotations

from random import Random

from witnessmark_practice.bus import Bus, BusFrame

PERIOD_S = {0x1A4: 0.05, 0x2C6: 0.1, 0x3D9: 0.2, 0x51B: 0.5}


class Traffic:
    """A node that only speaks. `on` switches it."""

    def __init__(self, bus: Bus, seed: int) -> None:
        self._bus = bus
        self._random = Random(seed)
        self._next_s = {can_id: period / 3 for can_id, period in PERIOD_S.items()}
        self._counter = dict.fromkeys(PERIOD_S, 0)
        self.on = True

    def hear(self, frame: BusFrame) -> None:
        """Listen to nobody."""

    def due_s(self) -> float | None:
        """Return when the next frame leaves; None while there is nothing to say."""
        return min(self._next_s.values()) if self.on and self._bus.awake else None

    def advance(self, now_s: float) -> None:
        """Send what is due until `now_s`."""
        if not self.on or not self._bus.awake:
            for can_id, period in PERIOD_S.items():
                self._next_s[can_id] = max(self._next_s[can_id], now_s + period)
            return
        while (due := min(self._next_s.items(), key=lambda item: item[1]))[1] <= now_s:
            can_id, at_s = due
            self._next_s[can_id] = at_s + PERIOD_S[can_id]
            count = self._counter[can_id] = (self._counter[can_id] + 1) & 0xFF
            data = bytes((0xA0 | count & 0x0F, *self._random.randbytes(6)))
            self._bus.put(self, BusFrame(can_id, data + bytes((sum(data) & 0xFF,)), False, at_s))
