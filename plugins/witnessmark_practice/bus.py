"""The CAN bus of the practice truck: whoever is on it hears what another puts there.

Rules that hold here: nobody hears itself; a frame arrives in the moment it is sent; with nobody awake to acknowledge
it a frame is not delivered.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True, slots=True)
class BusFrame:
    """One frame on the bus, in clock seconds of the truck."""

    can_id: int
    data: bytes
    extended: bool
    at_s: float


class Ear(Protocol):
    """Somebody on the bus."""

    def hear(self, frame: BusFrame) -> None: ...


class Bus:
    """Who is on it, in the order they came. `awake` says whether a node of the truck acknowledges frames."""

    def __init__(self) -> None:
        self.ears: list[Ear] = []
        self.awake = False

    def put(self, speaker: Ear | None, frame: BusFrame) -> bool:
        """Send a frame; return False when nobody acknowledged it, so that nobody has it."""
        if not self.awake:
            return False
        for ear in self.ears:
            if ear is not speaker:
                ear.hear(frame)
        return True
