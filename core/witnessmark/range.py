"""Moments that are only known to lie in a range, spans between two of them, and what is sure about them.

All times are whole nanoseconds on one clock. Rules that hold here: an answer is `yes` or `no` only when it is so
wherever in their ranges the moments were; else it is `maybe`. Bounds are reached: none is wider than it need be.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import msgspec

Sure = Literal["yes", "no", "maybe"]

FOREVER = 1 << 96
"""Later than any moment a clock of an entry can name: the end of what nobody saw end. Its negative is earlier."""


class Range(msgspec.Struct, frozen=True, order=True, gc=False):
    """A moment or a length, not below `low` and not above `high` (ns)."""

    low: int
    high: int

    def __post_init__(self) -> None:
        if self.low > self.high:
            raise ValueError(f"a range runs from {self.low} to {self.high}")

    def at_least(self, bound: int) -> Sure:
        """Say whether it is `bound` or more."""
        return "yes" if self.low >= bound else "no" if self.high < bound else "maybe"

    def at_most(self, bound: int) -> Sure:
        """Say whether it is `bound` or less."""
        return "yes" if self.high <= bound else "no" if self.low > bound else "maybe"

    def before(self, other: Range) -> Sure:
        """Say whether this moment is not after the other."""
        return "yes" if self.high <= other.low else "no" if self.low > other.high else "maybe"

    def minus(self, other: Range) -> Range:
        """Return how much later this moment is than the other."""
        return Range(self.low - other.high, self.high - other.low)

    def size(self) -> Range:
        """Return how far it is from 0, whichever way."""
        ends = (abs(self.low), abs(self.high))
        return Range(0 if self.low <= 0 <= self.high else min(ends), max(ends))


def exact(moment: int) -> Range:
    return Range(moment, moment)


class Span(msgspec.Struct, frozen=True, order=True, gc=False):
    """What lasted from one moment to another, each only known as a range. The end is never before the start."""

    start: Range
    end: Range

    @property
    def sure(self) -> tuple[int, int] | None:
        """The time it surely covers, None when there is none."""
        return (self.start.high, self.end.low) if self.start.high <= self.end.low else None

    @property
    def possible(self) -> tuple[int, int]:
        """The time outside which it surely is not."""
        return (self.start.low, self.end.high)

    def length(self) -> Range:
        return Range(max(0, self.end.low - self.start.high), max(0, self.end.high - self.start.low))

    def contains(self, moment: Range) -> Sure:
        """Say whether the moment lies in the span."""
        return every(self.start.before(moment), moment.before(self.end))

    def inside(self, other: Span) -> Sure:
        """Say whether this span lies wholly in the other."""
        return every(other.start.before(self.start), self.end.before(other.end))

    def meets(self, other: Span) -> Sure:
        """Say whether both last at some moment."""
        return every(self.start.before(other.end), other.start.before(self.end))


def every(*answers: Sure) -> Sure:
    """Say whether all hold: `no` when one surely does not."""
    return "no" if "no" in answers else "maybe" if "maybe" in answers else "yes"


def any_of(*answers: Sure) -> Sure:
    """Say whether at least one holds: `no` for none."""
    return "yes" if "yes" in answers else "maybe" if "maybe" in answers else "no"


def overlap(one: Span, other: Span) -> Range:
    """Return how long both last together."""
    low = min(one.end.low, other.end.low) - max(one.start.high, other.start.high)
    high = min(one.end.high, other.end.high) - max(one.start.low, other.start.low)
    return Range(max(0, low), max(0, high))


def covered(run: Span, spans: Sequence[Span]) -> tuple[float, float]:
    """Return the least and the greatest share of `run` during which one of `spans` lasts, 0 to 1.

    A run whose end is not known, or that may have no length, has no share that is sure: (0, 1) at the widest. `spans`
    do not last at the same time (one nipple opens again only after it was closed).
    """
    sure = [span.sure for span in spans if span.sure is not None]
    possible = [span.possible for span in spans]
    if run.end.low <= run.start.high:
        return 0.0, 1.0 if possible else 0.0
    least = min(_shares(run, sure))
    most = max(_shares(run, possible))
    return least, most


def _shares(run: Span, pieces: Sequence[tuple[int, int]]) -> list[float]:
    """Return the share at each corner of the run's ranges and at each edge of a piece within them.

    Between those, for one end held still, the share only rises or only falls: the extremes are among them.
    """
    edges = {edge for piece in pieces for edge in piece}
    starts = {run.start.low, run.start.high} | {edge for edge in edges if run.start.low < edge < run.start.high}
    ends = {run.end.low, run.end.high} | {edge for edge in edges if run.end.low < edge < run.end.high}
    return [_share(start, end, pieces) for start in starts for end in ends]


def _share(start: int, end: int, pieces: Sequence[tuple[int, int]]) -> float:
    """Return the share of `start` to `end` that lies in the pieces; where two touch, it is counted once."""
    together, at = 0, start
    for low, high in sorted(pieces):
        low, high = max(low, at), min(high, end)
        if high > low:
            together += high - low
            at = high
    return together / (end - start)
