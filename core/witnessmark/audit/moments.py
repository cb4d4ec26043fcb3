"""Things of which each was at some time, a range, laid out so that what may have been at a time is found at once.

Things flow in, in an order of their own (mostly the journal's); those that may matter flow out in the same order.
Rule that holds here: this only leaves out what surely was at another time. It judges nothing: whoever asks would give
the same answer with all things, and a test holds them to that.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator
from functools import cached_property
from itertools import accumulate
from typing import Generic, TypeVar

T = TypeVar("T")


class Moments(Generic[T]):
    """Things by when they were. `ends` gives the time outside which one surely was not (ns)."""

    def __init__(self, things: Iterable[T], ends: Callable[[T], tuple[int, int]]) -> None:
        self.things = list(things)
        self._ends = [ends(one) for one in self.things]
        self._by_low = sorted([(low, high, place) for place, (low, high) in enumerate(self._ends)])
        self._lows = [low for low, _, _ in self._by_low]
        self._highest = list(accumulate([high for _, high, _ in self._by_low], max))
        """The latest end up to each: it only rises, so that what ended long before is one stretch."""

    @cached_property
    def _first(self) -> list[int]:
        """The first in order from each on."""
        return list(accumulate([place for _, _, place in reversed(self._by_low)], min))[::-1]

    @cached_property
    def _by_high(self) -> list[tuple[int, int]]:
        return sorted([(high, low) for low, high in self._ends])

    @cached_property
    def _highs(self) -> list[int]:
        return [high for high, _ in self._by_high]

    @cached_property
    def _latest(self) -> list[int]:
        """The latest lower end up to each, in the order of their upper ends."""
        return list(accumulate([low for _, low in self._by_high], max))

    def within(self, first: int, final: int) -> list[T]:
        """Return what may have been from `first` to `final`, both reached, in order."""
        return [self.things[place] for place in self._places(first, final)]

    def pairs(self) -> Iterator[tuple[T, T]]:
        """Yield each two that may have been at one time, in the order of `itertools.combinations`."""
        for place, ends in enumerate(self._ends):
            for other in self._places(*ends):
                if other > place:
                    yield self.things[place], self.things[other]

    def first(self, low: int, high: int, holds: Callable[[T], bool]) -> T | None:
        """Return the first in order of which `holds`, None for nothing.

        It must hold of all that surely were at `high` or after it, and of none that surely were before `low`.
        """
        begin = bisect_left(self._lows, high)
        sure = self._first[begin] if begin < len(self._first) else len(self.things)
        places = (place for place in self._places(low, high) if place < sure and holds(self.things[place]))
        place = next(places, sure)
        return self.things[place] if place < len(self.things) else None

    def latest_low(self, moment: int) -> int | None:
        """Return the latest lower end among what surely was by `moment`, None for nothing."""
        end = bisect_right(self._highs, moment)
        return self._latest[end - 1] if end else None

    def _places(self, first: int, final: int) -> list[int]:
        begin, end = bisect_left(self._highest, first), bisect_right(self._lows, final)
        if begin >= end:
            return []
        found = [place for _, high, place in self._by_low[begin:end] if high >= first]
        found.sort()
        return found
