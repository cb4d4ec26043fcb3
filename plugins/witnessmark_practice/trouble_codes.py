"""The trouble codes the practice control unit stores (ISO 14229-1, 12.3; codes invented, from the makers' own range).

Rules that hold here: a status byte holds only bits of AVAILABLE; clearing removes every code whose test does not fail
at that moment.
"""

from __future__ import annotations

from dataclasses import dataclass, field

AVAILABLE = 0x2F
"""testFailed, testFailedThisOperationCycle, pendingDTC, confirmedDTC, testFailedSinceLastClear."""

FEED_LINE_AIR = 0x5B3012  # C1B30-12
UNIT_NEW = 0x5B4154  # C1B41-54, missing calibration: a new unit that was never bled
SUPPLY_LOW = 0x5B5216  # C1B52-16
RUN_ABORTED = 0x5B6000  # C1B60-00
SUPPORTED = (FEED_LINE_AIR, UNIT_NEW, SUPPLY_LOW, RUN_ABORTED)


@dataclass
class TroubleCodes:
    """The status byte of each supported code."""

    status: dict[int, int] = field(
        default_factory=lambda: {FEED_LINE_AIR: 0x00, UNIT_NEW: 0x2F, SUPPLY_LOW: 0x2C, RUN_ABORTED: 0x00}
    )

    def fail(self, code: int) -> None:
        """Store a code whose test failed now."""
        self.status[code] = AVAILABLE

    def heal(self, code: int) -> None:
        """Say that the test of a code passes now; what was stored stays stored."""
        self.status[code] &= ~0x01

    def clear(self, group: int) -> bool:
        """Clear a group: 0xFFFFFF for all, or one code. Return False for a group that is not known."""
        if group != 0xFFFFFF and group not in self.status:
            return False
        for code in self.status if group == 0xFFFFFF else (group,):
            if not self.status[code] & 0x01:
                self.status[code] = 0x00
        return True

    def matching(self, mask: int) -> list[tuple[int, int]]:
        """Return codes with their status for which a bit of `mask` is set, as report 02 asks."""
        return [(code, status) for code, status in self.status.items() if status & mask & AVAILABLE]
