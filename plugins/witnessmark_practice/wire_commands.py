"""The four wire commands that the practice control unit has, as its invented maker built them.

Nothing flows here: it is a table. `data/map.json` says the same in the words of a protocol map; a test compares them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class WireCommand:
    """What one wire command does. Times in s, pressures in bar.

    `service` is 0x31 (identifier is a routine) or 0x2F (a data identifier). `heads` is what it adds at each nipple.
    `takes_seconds`: the request carries how long to run, in one byte; else it runs until stopped, `longest_s` at most.
    `start_work_s`, `stop_work_s`: how long it answers 0x78 first. `outlives_session`: it goes on when S3 runs out.
    """

    id: str
    service: Literal[0x31, 0x2F]
    identifier: int
    heads: dict[str, float]
    motor: Literal["pump", "valve"]
    longest_s: float
    cool_down_s: float
    takes_seconds: bool = False
    start_work_s: float = 0.0
    stop_work_s: float = 0.0
    outlives_session: bool = False

    def requests(self, seconds: int) -> tuple[bytes, bytes]:
        """Return what starts it, with the seconds where it takes them, and what stops it."""
        name, asked = self.identifier.to_bytes(2, "big"), bytes((seconds,)) if self.takes_seconds else b""
        if self.service == 0x31:
            return b"\x31\x01" + name + asked, b"\x31\x02" + name
        return b"\x2f" + name + b"\x03" + asked, b"\x2f" + name + b"\x00"


FRONT = ("front-left-outer", "front-left-inner", "front-right-outer", "front-right-inner")

WIRE_COMMANDS = (
    WireCommand("pump-front", 0x31, 0x7310, dict.fromkeys(FRONT, 3.0), "pump", 20, 15, start_work_s=0.8),
    WireCommand(
        "pump-rear", 0x31, 0x7320, {"rear-left": 3.2, "rear-right": 3.2}, "pump", 20, 15, start_work_s=0.6
    ),
    WireCommand(
        "purge-unit", 0x31, 0x7340, {"front-left-inner": 2.2, "front-right-inner": 2.2, "rear-right": 1.8}, "pump",
        30, 15, takes_seconds=True, start_work_s=2.5, stop_work_s=1.0, outlives_session=True,
    ),
    WireCommand("valve-rear-left", 0x2F, 0x7101, {"rear-left": 1.0}, "valve", 15, 10, takes_seconds=True),
)  # fmt: skip

GRACE_S = 2.0
"""A wire command that was told its seconds ends by itself so much later."""

BY_IDENTIFIER = {(command.service, command.identifier): command for command in WIRE_COMMANDS}
