"""Times and ranges in words.

Nanoseconds flow in, text for people flows out. Rules that hold here: tenths of a second are always shown; what is not
known better than to an hour, as a card has it on which no time is written, is said to be not known.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime

from witnessmark import quantity
from witnessmark.audit.range import Range
from witnessmark.journal.bodies import Loss

NS = 1_000_000_000
VAGUE_NS = 3600 * NS
"""What is not known better than this is said to be not known, and has no place on an axis: a choice of this project."""


def seconds(ns: int) -> str:
    """Return `20.0 s`, or `3 min 05.2 s` from two minutes on."""
    tenths = round(abs(ns) / (NS // 10))
    sign = "-" if ns < 0 and tenths else ""
    if tenths < 1200:
        return f"{sign}{tenths // 10}.{tenths % 10} s"
    return f"{sign}{tenths // 600} min {tenths % 600 // 10:02d}.{tenths % 10} s"


def has_length(ns: int) -> bool:
    """Whether a length shows as more than 0.0 s: as the least that something lasted, that says nothing."""
    return round(ns / (NS // 10)) > 0


def is_vague(moment: Range) -> bool:
    """Whether a moment or a length is not known better than to an hour."""
    return moment.high - moment.low > VAGUE_NS


def is_known(span: Range) -> bool:
    """Whether anything is known of a length."""
    return not is_vague(span) or has_length(span.low)


def length(span: Range) -> str:
    """Return a length that is a range: `20.0 s`, `18.0 to 22.0 s`, `at least 18.0 s`, or `a time that is not known`."""
    if is_vague(span):
        return f"at least {seconds(span.low)}" if is_known(span) else "a time that is not known"
    low, high = seconds(span.low), seconds(span.high)
    if low == high:
        return low
    return f"{low} to {high}" if "min" in high else f"{low.removesuffix(' s')} to {high}"


def clock(at: Range) -> str:
    """Return a time of day in UTC, `10:02:03Z`: the middle of the range; `time not known` where that says nothing.

    It is rounded to the second as a paper's times are, so that both say the same of an entry.
    """
    if is_vague(at):
        return "time not known"
    return datetime.fromtimestamp(((at.low + at.high) // 2 + NS // 2) // NS, UTC).strftime("%H:%M:%SZ")


def loss(lost: Loss) -> str:
    """Return which entries of the journal are gone, and what that means for the job that says so."""
    until = "on" if lost.end is None else f"to {lost.end}"
    return f"entries from {lost.start} {until} of the journal were lost afterwards, and some may have been of this job"


def apart(later: Range) -> str:
    """Return how far a moment lies after another: `3.0 to 7.0 s after`, `2.0 s before`, or the bounds of both.

    Of one that is vague that is not known; who asks says of what.
    """
    if is_vague(later):
        return "it is not known how long before or after"
    if later.low >= 0:
        return f"{length(later)} after"
    if later.high <= 0:
        return f"{length(Range(-later.high, -later.low))} before"
    return f"from {seconds(-later.low)} before to {seconds(later.high)} after"


def change(by: float, unit: str) -> str:
    """Return which way something went and how far: `rose by 10 mL`, `fell by 120 mL`, `stayed as it was`."""
    if not by:
        return "stayed as it was"
    return f"{'rose' if by > 0 else 'fell'} by {quantity.plain(abs(by))} {unit}"


def share(low: float, high: float) -> str:
    """Return a share of 0 to 1 in percent, rounded so that it never looks better than it is."""
    a, b = int(low * 100), -int(-high * 100 // 1)
    return f"{a} %" if a == b or round(low * 100, 6) == round(high * 100, 6) else f"{a} % to {b} %"


def listing(words: Iterable[str]) -> str:
    """Return `a`, `a and b`, `a, b and c`."""
    items = list(words)
    return " and ".join([", ".join(items[:-1]), items[-1]] if len(items) > 1 else items)


def counted(count: int, one: str, several: str = "") -> str:
    """Return `1 entry` or `3 entries`; the plural takes an s where none is given."""
    return f"{count} {one}" if count == 1 else f"{count} {several or one + 's'}"
