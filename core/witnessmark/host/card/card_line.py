"""A line of a card as it is typed: its times, its value, its boxes and its words, taken apart.

A line, the places of its point and the day of the card flow in, a `Line` flows out. Rules that hold here: a time is as
coarse as it was written (`10:42` is that whole minute, `?` any of the card's day, from the last live entry of the job
to the keying) and never still to come; `?` is what is not written: a time, a value, a box; at the end of a line all
that is left of it. Where only a time says that something was done, `? done` says so for a mark without a time, and `?`
alone says nothing. What was left out may have a time before its `-`, and `?` behind it where no reason is written.
Behind a value its boxes stand in any order, with commas or without; `with` says that it was read with the instrument
the card names, `with` and a name with another, and a line without it names none.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, tzinfo

from witnessmark.clock import NS
from witnessmark.errors import InputError
from witnessmark.job.walk.places import NO, NOT_CLEAR, YES, Places
from witnessmark.journal.entry import Occurred, occurred
from witnessmark.people.person import Person

AGAIN_WORD, FIRST_WORD = "again", "first"
LEFT, EMPTY, DONE, WITH = "-", "?", "done", "with"
"""What was left out and why; what is not written; a mark, and no time; the instrument of the card, or another."""
OLDEST = 2000
"""The first year of a card: before that a slip of the finger is meant."""
_TIME = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)(?::([0-5]\d))?")
_LAST = re.compile(r"(?:(?:^|[\s,;]+)with)?(?:^|[\s,;]+)\?[\s,;]*$")
_PARTS = re.compile(r";|,(?!\d)")
_BY = re.compile(r"(?:^|[\s,;])by\s+(\S+)\s*$")


class StillToCome(InputError):
    """A time on the card is later than now: it is another day's, or a slip."""


class Day:
    """The day the card was filled in, in the shop's zone. `now_ns` is the wall time at which it is keyed in.

    `live_ns` is when the machine last saw work on the job, 0 for never: the card goes on from there.
    """

    def __init__(self, day: date, now_ns: int, zone: tzinfo | None = None, live_ns: int = 0) -> None:
        """Raises InputError for a day that no card is of."""
        if day.year < OLDEST:
            raise InputError(f"{day.isoformat()} is the day of no card", place="--on", hint="write it like 2026-03-31")
        self._day = day
        self._now_ns = now_ns
        self._zone = zone
        self._live_ns = live_ns

    def __str__(self) -> str:
        return f"the card of {self._day.isoformat()}"

    def read(self, text: str) -> Occurred:
        """Return the range that a time as written stands for. Raises InputError for none, or one still to come."""
        match = _TIME.fullmatch(text)
        if text == EMPTY:
            return self.unknown()
        if not text:
            hint = f"write one like 10:42:05 for each that is asked, {EMPTY} where the card has none"
            raise InputError("a time is missing", place="time", hint=hint)
        if match is None:
            hint = f"write it like 10:42 or 10:42:05, {EMPTY} where the card has none"
            raise InputError(f"{text!r} is no time", place="time", hint=hint)
        hour, minute, second = (int(part or 0) for part in match.groups())
        start_ns = self._at(hour, minute, second)
        if start_ns > self._now_ns:
            raise StillToCome(f"{text} is still to come", place="time", hint="say which day is on the card: --on DAY")
        return occurred(start_ns, start_ns + (1 if match.group(3) else 60) * NS - 1, basis="typed")

    def has(self, ns: int) -> bool:
        """Whether a moment lies on this day."""
        return self._at(0, 0, 0) <= ns < self._at(23, 59, 59) + NS

    def unknown(self) -> Occurred:
        """Return the range of what no time is written of, in whole seconds: a card tells no more."""
        start_ns = self._at(0, 0, 0)
        last_ns = min(self._at(23, 59, 59) + NS - 1, self._now_ns)
        if start_ns < self._live_ns <= last_ns:
            start_ns = self._live_ns // NS * NS
        return occurred(min(start_ns, last_ns), last_ns, basis="typed")

    def _at(self, hour: int, minute: int, second: int) -> int:
        moment = datetime(self._day.year, self._day.month, self._day.day, hour, minute, second, tzinfo=self._zone)
        return round(moment.timestamp()) * NS


@dataclass(frozen=True, slots=True)
class Line:
    """What one line says. `why` is of what was left out, `?` where no reason is written; `times` may be empty then.

    `written` says of each time whether it is on the card, `done` that something on the card says that it was done,
    `rest` that what is empty was said to be.
    """

    times: tuple[Occurred, ...] = ()
    written: tuple[bool, ...] = ()
    value: str = ""
    boxes: tuple[str, ...] = ()
    words: str = ""
    by: str = ""
    tool: str = ""
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
        return Line(why=_reason(rest, place))
    if text.strip() == EMPTY:
        times = [day.read(EMPTY)] * max(1, len(at.times))
        return Line(tuple(times), (False,) * len(times), rest=True)
    if not at.times:
        hint = f"write - and why: {at.words}; {EMPTY} where nothing is written"
        raise InputError("no time is written here", place=place, hint=hint)
    left, why = first_word(rest)
    if left == LEFT and len(at.times) == 1:
        return Line((day.read(first),), (first != EMPTY,), why=_reason(why, place))
    words = [first]
    for _ in at.times[1:]:
        one, rest = first_word(rest)
        words.append(one)
    times = [day.read(one) for one in words]
    if len(times) > 1 and times[1].to_ns < times[0].from_ns:
        raise InputError("it ended before it started", place=place, hint="write 10:42:05 10:42:15")
    rest, by = _by(rest) if at.by else (rest, "")
    rest, empty = _rest(rest)
    value, boxes, said, tool = _marks(rest, at, place)
    if at.unit is not None and not value and not empty:
        hint = f"write 10:42 and the value, {EMPTY} instead of it where its box is empty"
        raise InputError("no value is written", place=place, hint=hint)
    value, empty = ("", True) if value == EMPTY else (value, empty)
    written = tuple(one != EMPTY for one in words)
    return Line(tuple(times), written, value, boxes, said, "" if by == EMPTY else by, tool, rest=empty or by == EMPTY)


def _reason(text: str, place: str) -> str:
    if not text:
        raise InputError(
            "no reason is written",
            place=place,
            hint=f"write - and the reason, as the card says it, - {EMPTY} where it has none",
        )
    return text


def _rest(text: str) -> tuple[str, bool]:
    """Part the ? off that says at the end of a line that the rest of it is empty."""
    match = _LAST.search(text)
    return (text, False) if match is None else (text[: match.start()], True)


def _by(rest: str) -> tuple[str, str]:
    match = _BY.search(rest)
    if match is None:
        return rest, ""
    return rest[: match.start()].strip(), match[1] if match[1] == EMPTY else Person(match[1]).id


def _marks(rest: str, at: Places, place: str) -> tuple[str, tuple[str, ...], str, str]:
    """Return value, boxes, words and instrument of what stands behind the times."""
    if at.unit is not None:
        return _value(rest, at, place)
    if at.boxes == (YES, NO):
        said, words = first_word(rest)
        said = said.strip(",;:.").lower()
        return ("", (said,), words, "") if said in at.boxes else ("", (), rest, "")
    chosen = next((one for one in at.boxes if one.lower() == rest.lower()), "")
    return ("", (chosen,), "", "") if chosen else ("", (), rest, "")


def _value(rest: str, at: Places, place: str) -> tuple[str, tuple[str, ...], str, str]:
    """Take a reading apart: the value and its unit, then each part between commas."""
    value, *parts = (one.strip() for one in _PARTS.split(rest))
    number, more = first_word(value)
    if more and not _mark(more, at)[0]:
        unit, more = first_word(more)
        number = f"{number} {unit}"
    boxes: list[str] = []
    words: list[str] = []
    tool = ""
    for part in (more, *parts):
        mark, after = _mark(part, at)
        while mark and mark != WITH and not after.startswith(":"):
            boxes.append(mark)
            mark, after = _mark(part := after, at)
        if mark == WITH:
            after, ticked = _ticked(after, at)
            tool, part = after or at.tool, ""
            boxes += ticked
        elif mark:
            boxes.append(mark)
            part = after.lstrip(": ")
        else:
            part, ticked = _ticked(part, at)
            boxes += ticked
        words += [part.lstrip(": ")] if part else []
    if {"clear", NOT_CLEAR} <= {*boxes}:
        raise InputError("clear and not clear are both written", place=place, hint="write the one that is ticked")
    if words and NOT_CLEAR not in boxes:
        known = ", ".join((*at.boxes, *((WITH,) if at.tool else ())))
        hint = f"behind the value write what is ticked: {known}" if known else "write the value and its unit alone"
        raise InputError(f"{words[0]!r} has no place on this line", place=place, hint=hint)
    return number, tuple(dict.fromkeys(boxes)), ", ".join(words), tool


def _mark(text: str, at: Places) -> tuple[str, str]:
    """Return the box, or the word with, that a text begins with, and what is behind it; empty for none."""
    for name in (*sorted(at.boxes, key=len, reverse=True), *((WITH,) if at.tool else ())):
        match = re.match(rf"{name}(?![\w.-])\s*", text, re.IGNORECASE)
        if match:
            return name, text[match.end() :]
    return "", text


def _ticked(text: str, at: Places) -> tuple[str, list[str]]:
    """Part the boxes off that a text ends with."""
    found: list[str] = []
    for _ in at.boxes:
        for name in sorted(at.boxes, key=len, reverse=True):
            match = re.search(rf"(?:^|\s){name}$", text, re.IGNORECASE)
            if match:
                text, found = text[: match.start()].strip(), [name, *found]
    return text, found
