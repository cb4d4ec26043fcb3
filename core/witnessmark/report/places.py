"""Where a label can stand in a lane without running into another one or out of the drawing.

Extents in the units of the drawing flow in; the first free place flows out, or none: then the words stay in the tables
and in the title of what is drawn.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, NamedTuple

Anchor = Literal["start", "middle", "end"]

LETTER, SMALL_LETTER = 5.6, 4.9
"""About how wide a letter of a label is, and of a small one: 11.5 and 10 units high."""


class Spot(NamedTuple):
    """Where words would stand: their x, how they lie to it, and their base line."""

    x: float
    anchor: Anchor
    y: float
    inside: bool = False


def width(words: str, letter: float = SMALL_LETTER) -> float:
    """Return about how wide words are."""
    return letter * len(words)


def extent(spot: Spot, words: str) -> tuple[float, float]:
    """Return where small words at a spot begin and end."""
    wide = width(words)
    left = spot.x - {"start": 0.0, "middle": wide / 2, "end": wide}[spot.anchor]
    return left, left + wide


class Taken:
    """The extents that are taken in one drawing, by base line; `left` and `right` are its edges."""

    def __init__(self, left: float, right: float) -> None:
        self._left, self._right = left, right
        self._by_line: dict[float, list[tuple[float, float]]] = {}

    def take(self, y: float, low: float, high: float) -> None:
        """Keep labels on the base line `y` off this extent."""
        self._by_line.setdefault(y, []).append((low, high))

    def first(self, words: str, spots: Iterable[Spot]) -> Spot | None:
        """Return the first of `spots` where small `words` are free to stand and take it, None if none is."""
        for spot in spots:
            low, high = extent(spot, words)
            taken = () if spot.inside else self._by_line.get(spot.y, ())
            if self._left <= low and high <= self._right and all(high <= a or b <= low for a, b in taken):
                self.take(spot.y, low, high)
                return spot
        return None
