"""Where a moment lies on the paper: a time axis that leaves out long pauses and says so.

Moments in ms flow in, x flows out. Rules that hold here: within a section the scale is the same everywhere; a pause
longer than `PAUSE_MS` in which nothing is recorded is drawn as a break with its length, never squeezed in silence;
where there are so many breaks that they leave no room, all of them and what lies between is narrower alike.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

PAUSE_MS = 10 * 60_000
BREAK_WIDTH = 30.0
LEAST_SECTION = 34.0
STEPS_MIN = (1, 2, 5, 10, 15, 30, 60, 120, 240)
MARGIN_MS = 5_000


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of time drawn without a break."""

    low_ms: int
    high_ms: int
    left: float
    right: float


@dataclass(frozen=True, slots=True)
class Axis:
    """The sections from left to right."""

    sections: tuple[Section, ...]

    def __call__(self, ms: int) -> float:
        """Return the x of a moment; one in a pause lies in its break, one outside at the edge."""
        first = self.sections[0]
        if ms <= first.low_ms:
            return first.left
        before = first
        for section in self.sections:
            if ms < section.low_ms:
                return (before.right + section.left) / 2
            if ms <= section.high_ms:
                share = (ms - section.low_ms) / (section.high_ms - section.low_ms)
                return section.left + share * (section.right - section.left)
            before = section
        return self.sections[-1].right

    def breaks(self) -> list[tuple[float, int]]:
        """Return the middle of each break and how long it is (ms)."""
        return [((a.right + b.left) / 2, b.low_ms - a.high_ms) for a, b in pairwise(self.sections)]

    def ticks(self, most: int = 12) -> list[int]:
        """Return whole minutes to mark, as many as fit."""
        shown = sum(section.high_ms - section.low_ms for section in self.sections)
        step = next((one for one in STEPS_MIN if shown / (one * 60_000) <= most), STEPS_MIN[-1]) * 60_000
        found: list[int] = []
        for section in self.sections:
            first = -(-section.low_ms // step) * step
            found += range(first, section.high_ms + 1, step)
        return found


def axis(moments: Iterable[int], left: float, right: float) -> Axis:
    """Return the axis on which all `moments` (ms) lie between `left` and `right`."""
    known = sorted(set(moments)) or [0]
    groups = [[known[0]]]
    for before, now in pairwise(known):
        if now - before > PAUSE_MS:
            groups.append([])
        groups[-1].append(now)
    bounds = [(group[0] - MARGIN_MS, group[-1] + MARGIN_MS) for group in groups]
    least = BREAK_WIDTH * (len(bounds) - 1) + LEAST_SECTION * len(bounds)
    narrow = min(1.0, (right - left) / least)
    spare = max(0.0, right - left - least)
    total = sum(high - low for low, high in bounds)
    sections, x = [], left
    for low, high in bounds:
        wide = LEAST_SECTION * narrow + spare * (high - low) / total
        sections.append(Section(low, high, x, x + wide))
        x += wide + BREAK_WIDTH * narrow
    return Axis(tuple(sections))
