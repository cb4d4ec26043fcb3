"""Every frame on the bus of the practice truck as candump text, for recordings and for comparing with what we logged.

A line is `(seconds.microseconds) can0 ID#DATA`: three digits of an 11-bit identifier, eight of a 29-bit one.
"""

from __future__ import annotations

from typing import TextIO

from witnessmark.clock import Stamp
from witnessmark_practice.bus import BusFrame


class Trace:
    """An ear that writes. `origin` is the truck's second 0; the file is the caller's to close."""

    def __init__(self, file: TextIO, origin: Stamp) -> None:
        self._file = file
        self._origin = origin

    def hear(self, frame: BusFrame) -> None:
        """Write one frame."""
        wall_us = (self._origin.wall_ns + round(frame.at_s * 1e9)) // 1000
        can_id = f"{frame.can_id:08X}" if frame.extended else f"{frame.can_id:03X}"
        self._file.write(
            f"({wall_us // 1_000_000}.{wall_us % 1_000_000:06d}) can0 {can_id}#{frame.data.hex().upper()}\n"
        )
