"""Counting what one control unit answers: spans, and how often and when a fact was seen.

Numbers flow in one at a time, facts flow out at the end. Rule that holds here: nothing grows with the length of a
recording but the spans, eight bytes each.
"""

from __future__ import annotations

from array import array
from collections import Counter
from dataclasses import dataclass, field

from witnessmark.mapping.facts import Evidence, Spread
from witnessmark.recording.line import NO_TIME_NS

MOST_VALUES = 256
"""So many different values of an identifier are told apart; more are counted as so many."""


class Spans:
    """Spans in ns."""

    def __init__(self) -> None:
        self._us = array("q")

    def __len__(self) -> int:
        return len(self._us)

    def add(self, from_ns: int, to_ns: int) -> None:
        """Count the span between two moments; none where the recording tells no time."""
        if NO_TIME_NS not in (from_ns, to_ns):
            self._us.append(max(0, to_ns - from_ns) // 1000)

    def spread(self) -> Spread | None:
        """Return how they are spread; None for none."""
        if not self._us:
            return None
        ordered = sorted(self._us)
        last = len(ordered) - 1
        return Spread(
            count=len(ordered),
            least_us=ordered[0],
            median_us=ordered[last // 2],
            p95_us=ordered[round(last * 0.95)],
            most_us=ordered[-1],
        )


@dataclass(slots=True)
class Times:
    """How often something was seen, and first and last when."""

    first_ns: int
    last_ns: int
    count: int = 1

    def again(self, at_ns: int) -> None:
        self.last_ns = at_ns
        self.count += 1

    def evidence(self, of: Evidence) -> Evidence:
        """Return the evidence of what was seen so often."""
        return evidence(of, self.count, self.first_ns, self.last_ns)


def evidence(of: Evidence, count: int, first_ns: int, last_ns: int) -> Evidence:
    """Return `of` for something that was seen `count` times."""
    return Evidence(of.how, of.source, of.digest, moment(first_ns), moment(last_ns), count)


def moment(at_ns: int) -> str:
    """Write a moment; nothing where the recording tells no time."""
    return "" if at_ns == NO_TIME_NS else str(at_ns)


@dataclass(slots=True)
class ServiceTally:
    """One service of one unit."""

    times: Times
    asked: int = 0
    positive: int = 0
    silent: int = 0
    codes: Counter[int] = field(default_factory=Counter)
    sub_functions: set[int] = field(default_factory=set)


@dataclass(slots=True)
class IdentifierTally:
    """One identifier of one unit. `code` is the last refusal, -1 for none."""

    times: Times
    value: bytes = b""
    values: set[bytes] = field(default_factory=set)
    code: int = -1

    def take(self, value: bytes) -> None:
        self.value = value
        if value not in self.values and len(self.values) < MOST_VALUES:
            self.values.add(value)


@dataclass(slots=True)
class SessionTally:
    """One session that was asked for: its last answer, empty for none."""

    times: Times
    answer: bytes = b""
