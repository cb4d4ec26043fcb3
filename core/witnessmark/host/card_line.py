"""A line of a card as it is typed: its times, its value, its boxes and its words, taken apart.

A line, the places of its point and the day of the card flow in, a `Line` flows out. Rules that hold here: a time is as
coarse as it was written (`10:42` is that whole minute, `?` the whole day of the card) and never still to come; `?` is
what is not written: a time, a value, a box; at the end of a line all that is left of it. Where only a time says that
something was done, `? done` says so for a mark without a time, and `?` alone says nothing.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, tzinfo

from witnessmark.clock import NS
from witnessmark.errors import InputError
from witnessmark.job.places import NO, NOT_CLEAR, YES, Places
from witnessmark.journal.entry import Occurred, occurred
from witnessmark.people.person import Person

AGAIN_WORD, FIRST_WORD = "again", "first"
LEFT, EMPTY, DONE = "-", "?", "done"
"""What was left out and why; what is not written; a mark, and no time."""
OLDEST = 2000
"""The first year of a card: before that a slip of the finger is meant."""
_TIME = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)(?::([0-5]\d))?")
_LAST = re.compile(r"(?:^|[\s,;]+)\?[\s,;]*$")
_BY = re.compile(r"(?:^|[\s,;])by\s+(\S+)\s*$")


class Day:
    """The day the card was filled in, in the shop's zone. `now_ns` is the wall time at which it is keyed in."""

    def __init__(self, day: date, now_ns: int, zone: tzinfo | None = None) -> None:
        """Raises InputError for a day that no card is of."""
        if day.year < OLDEST:
            raise InputError(f"{day.isoformat()} is the day of no card", place="--on", hint="write it like 2026-03-31")
        self._day = day
        self._now_ns = now_ns
        self._zone = zone

    def __str__(self) -> str:
        return f"the card of {self._day.isoformat()}"

    def read(self, text: str) -> Occurred:
        """Return the range that a time as written stands for. Raises InputError for none, or one still to come."""
        match = _TIME.fullmatch(text)
        if text == EMPTY:
            start_ns = self._at(0, 0, 0)
            last_ns = self._at(23, 59, 59) + NS - 1
            return occurred(min(start_ns, self._now_ns), min(last_ns, self._now_ns), basis="typed")
        if not text:
            hint = f"write one like 10:42:05 for each that is asked, {EMPTY} where the card has none"
            raise InputError("a time is missing", place="time", hint=hint)
        if match is None:
            hint = f"write it like 10:42 or 10:42:05, {EMPTY} where the card has none"
            raise InputError(f"{text!r} is no time", place="time", hint=hint)
        hour, minute, second = (int(part or 0) for part in match.groups())
        start_ns = self._at(hour, minute, second)
        if start_ns > self._now_ns:
            raise InputError(f"{text} is still to come", place="time", hint="say which day is on the card: --on DAY")
        return occurred(start_ns, start_ns + (1 if match.group(3) else 60) * NS - 1, basis="typed")

    def _at(self, hour: int, minute: int, second: int) -> int:
        moment = datetime(self._day.year, self._day.month, self._day.day, hour, minute, second, tzinfo=self._zone)
        return round(moment.timestamp()) * NS


@dataclass(frozen=True, slots=True)
class Line:
    """What one line says. `why` is of what was left out; `times` are empty then.

    `written` says of each time whether it is on the card, `done` that something on the card says that it was done,
    `rest` that what is empty was said to be.
    """

    times: tuple[Occurred, ...] = ()
    written: tuple[bool, ...] = ()
    value: str = ""
    boxes: tuple[str, ...] = ()
    words: str = ""
    by: str = ""
    why: str = ""
    rest: bool = False

    @property
    def done(self) -> bool:
        """Whether anything that is written says that it was done: a time, a value, a box, or words."""
        return any(self.written) or bool(self.value or self.boxes or self.words)

    @property
    def begins_ns(self) -> int:
        """The time that it begins with, 0 where it says none."""
        return self.times[0].from_ns if self.times else 0


def first_word(text: str) -> tuple[str, str]:
    """Return the first word of a line and the rest."""
    first, _, rest = text.strip().partition(" ")
    return first, rest.strip()


def read_line(text: str, at: Places, day: Day, place: str) -> Line:
    """Take a line apart. Raises InputError naming `place` for what does not fit the places of the point."""
    first, rest = first_word(text)
    if first == LEFT:
        if not rest:
            raise InputError("no reason is written", place=place, hint="write - and the reason, as the card says it")
        return Line(why=rest)
    if text.strip() == EMPTY:
        times = [day.read(EMPTY)] * max(1, len(at.times))
        return Line(tuple(times), (False,) * len(times), rest=True)
    if not at.times:
        hint = f"write - and why: {at.words}; {EMPTY} where nothing is written"
        raise InputError("no time is written here", place=place, hint=hint)
    words = [first]
    for _ in at.times[1:]:
        one, rest = first_word(rest)
        words.append(one)
    times = [day.read(one) for one in words]
    if len(times) > 1 and times[1].to_ns < times[0].from_ns:
        raise InputError("it ended before it started", place=place, hint="write 10:42:05 10:42:15")
    rest, by = _by(rest) if at.by else (rest, "")
    rest, empty = _rest(rest)
    value, boxes, said = _marks(rest, at, place)
    if at.unit is not None and not value and not empty:
        hint = f"write 10:42 and the value, {EMPTY} instead of it where its box is empty"
        raise InputError("no value is written", place=place, hint=hint)
    value, empty = ("", True) if value == EMPTY else (value, empty)
    written = tuple(one != EMPTY for one in words)
    return Line(tuple(times), written, value, boxes, said, "" if by == EMPTY else by, rest=empty or by == EMPTY)


def _rest(text: str) -> tuple[str, bool]:
    """Part the ? off that says at the end of a line that the rest of it is empty."""
    match = _LAST.search(text)
    return (text, False) if match is None else (text[: match.start()], True)


def _by(rest: str) -> tuple[str, str]:
    match = _BY.search(rest)
    if match is None:
        return rest, ""
    return rest[: match.start()].strip(), match[1] if match[1] == EMPTY else Person(match[1]).id


def _marks(rest: str, at: Places, place: str) -> tuple[str, tuple[str, ...], str]:
    """Return value, boxes and words of what stands behind the times."""
    if at.unit is not None:
        return _value(rest, at, place)
    if at.boxes == (YES, NO):
        said, words = first_word(rest)
        said = said.strip(",;:.").lower()
        return ("", (said,), words) if said in at.boxes else ("", (), rest)
    chosen = next((one for one in at.boxes if one.lower() == rest.lower()), "")
    return ("", (chosen,), "") if chosen else ("", (), rest)


def _value(rest: str, at: Places, place: str) -> tuple[str, tuple[str, ...], str]:
    boxes, words = [], ""
    names = "|".join(re.escape(one) for one in sorted(at.boxes, key=len, reverse=True))
    end = re.compile(rf"[\s,;]+(?:({names})|({NOT_CLEAR}):\s*([^,;]*))$") if names else None
    while end is not None and (match := end.search(rest)):
        boxes.append(match[1] or match[2])
        words = (match[3] or words).strip()
        rest = rest[: match.start()]
    if {"clear", NOT_CLEAR} <= {*boxes}:
        raise InputError("clear and not clear are both written", place=place, hint="write the one that is ticked")
    return rest.strip(), tuple(reversed(boxes)), words
