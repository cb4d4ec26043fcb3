"""Times and ranges in words.

Nanoseconds flow in, text for people flows out. Rules that hold here: tenths of a second are shown up to two hours; a
time of day is rounded to the nearest second, here and nowhere else, so that no entry has two; what is not known better
than to an hour, as a card has it on which no time is written, is said to be not known.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta, tzinfo

from witnessmark import quantity
from witnessmark.journal.bodies import Loss
from witnessmark.range import Range

NS = 1_000_000_000
VAGUE_NS = 3600 * NS
"""What is not known better than this is said to be not known, and has no place on an axis: a choice of this project."""
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
NO_CALENDAR = "past the year 9999"
"""What is said of a moment that no calendar here reaches: its clock was wrong."""
MINUTE, HOUR, DAY = 60, 3600, 86_400


def seconds(ns: int) -> str:
    """Return `20.0 s`, from two minutes on `3 min 05.2 s`, from two hours `2 h 03 min 05 s`, then `2 d 3 h 05 min`."""
    tenths = round(abs(ns) / (NS // 10))
    sign = "-" if ns < 0 and tenths else ""
    if tenths < 1200:
        return f"{sign}{tenths // 10}.{tenths % 10} s"
    if tenths < 72_000:
        return f"{sign}{tenths // 600} min {tenths % 600 // 10:02d}.{tenths % 10} s"
    whole = round(abs(ns) / NS)
    if whole < 2 * DAY:
        return f"{sign}{whole // HOUR} h {whole % HOUR // MINUTE:02d} min {whole % MINUTE:02d} s"
    minutes = round(abs(ns) / (MINUTE * NS))
    return f"{sign}{minutes // 1440} d {minutes % 1440 // 60} h {minutes % 60:02d} min"


def roughly(ns: int) -> str:
    """Return about how long a pause is: `12 min`, from three hours on `16 h`, from three days `4 d`, then `5 years`."""
    minutes = round(ns / (MINUTE * NS))
    if minutes < 180:
        return f"{minutes} min"
    hours, days = round(minutes / 60), round(minutes / 1440)
    return f"{hours} h" if hours < 72 else f"{days} d" if days < 730 else f"{round(days / 365.25)} years"


def moment(ns: int, zone: tzinfo | None = UTC) -> datetime | None:
    """Return the nearest second, in `zone` (None: the machine's own); None where no calendar here reaches it."""
    try:
        return (EPOCH + timedelta(seconds=(ns + NS // 2) // NS)).astimezone(zone)
    except (OverflowError, ValueError, OSError):
        return None


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
    if span.low == span.high:
        return seconds(span.low)
    if is_vague(span):
        return f"at least {seconds(span.low)}" if is_known(span) else "a time that is not known"
    low, high = seconds(span.low), seconds(span.high)
    if low == high:
        return low
    return f"{low} to {high}" if "min" in high else f"{low.removesuffix(' s')} to {high}"


def clock(at: Range) -> str:
    """Return a time of day in UTC, `10:02:03Z`: the middle of the range; `time not known` where that says nothing."""
    if is_vague(at):
        return "time not known"
    said = moment((at.low + at.high) // 2)
    return NO_CALENDAR if said is None else said.strftime("%H:%M:%SZ")


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
