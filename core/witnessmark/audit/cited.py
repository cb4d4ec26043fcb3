"""Numbers of entries as a screen or a paper cites them: each once, in order, and those without a gap as one range.

Numbers in any order flow in, ranges flow out. Rule that holds here: what is not shown any more is counted.
"""

from __future__ import annotations

from collections.abc import Iterable

Ranges = list[tuple[int, int]]
"""The first and last number of each range; a number by itself is both."""

MOST = 8
"""So many ranges a line of a screen names."""
MOST_ON_PAPER = 24
"""And so many a paper does, where each can be looked up."""


def ranges(numbers: Iterable[int]) -> Ranges:
    """Return the numbers as ranges without a gap, rising; two that follow each other stay two."""
    found: Ranges = []
    for number in sorted(set(numbers)):
        if found and number == found[-1][1] + 1:
            found[-1] = (found[-1][0], number)
        else:
            found.append((number, number))
    pairs = [[(low, low), (high, high)] if high == low + 1 else [(low, high)] for low, high in found]
    return [one for pair in pairs for one in pair]


def first(numbers: Iterable[int], most: int) -> tuple[Ranges, int]:
    """Return the first `most` ranges, and how many numbers those leave out; one left over is not worth a count."""
    found = ranges(numbers)
    if len(found) <= most + 1:
        return found, 0
    return found[:most], sum(high - low + 1 for low, high in found[most:])


def spell(numbers: Iterable[int], most: int = MOST) -> str:
    """Return `entry 7`, `entries 3 316-320`, `entries 1 3 5 and 40 more`; empty for none."""
    shown, left = first(numbers, most)
    if not shown:
        return ""
    words = [str(low) if low == high else f"{low}-{high}" for low, high in shown]
    several = len(shown) > 1 or shown[0][0] != shown[0][1]
    return f"{'entries' if several else 'entry'} {' '.join(words)}{f' and {left} more' if left else ''}"
