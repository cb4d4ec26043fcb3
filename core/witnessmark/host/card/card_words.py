"""What a person wrote in words on a line of a card, held against the words of other lines.

A point, its places and a line flow in, nothing flows out: a refusal is an error. Rules that hold here: a yes, a time, a
value or a box that is keyed in one line too early or too late is nobody's words; where the card has no place for words
none are taken; a bare number may be what a container says, or a vehicle's number; behind yes or no a length may be what
was seen, where no line of the card asks for a value in its unit.
"""

from __future__ import annotations

import re
from collections.abc import Container

from witnessmark.errors import InputError
from witnessmark.host.card.card_line import DONE, EMPTY, WITH, Line, first_word
from witnessmark.job.fluid.container import READ_OFF
from witnessmark.job.walk.places import BOXES, NO, NO_CODE, YES, Places, identifies
from witnessmark.job.walk.steps import Point
from witnessmark.procedure.steps import is_check
from witnessmark.quantity import SIGNS, UNITS

_UNIT = "|".join(sorted(map(re.escape, {*UNITS, *SIGNS.values()}), key=len, reverse=True))
_VALUE = rf"[+-]?\d+(?:[.,]\d+)?(?:\s*(?:{_UNIT})(?!\w))?"
_TICKED = "|".join(
    sorted({YES, NO, DONE, WITH, NO_CODE, *(one for many in BOXES.values() for one in many)}, reverse=True)
)
_ITEM = rf"(?:\d?\d:\d\d(?::\d\d)?|{_VALUE}|(?:{_TICKED})(?!\w)|\?)"
_MANY = rf"(?:[\s,;:.]+{_ITEM})*"
_OTHERS = re.compile(rf"{_ITEM}{_MANY}[\s,;:.]*|{_VALUE}{_MANY}[\s,;]+{WITH}\b.*", re.IGNORECASE)
_DIGITS = re.compile(r"\d[\d\s.,-]*")
_LENGTH = re.compile(r"[+-]?\d+(?:[.,]\d+)?\s*(mm|cm|in)")


def of_another_line(words: str) -> bool:
    """Whether words are nothing but times, values, boxes and `with`, as another line of a card has them."""
    return _OTHERS.fullmatch(words.strip()) is not None


def check(point: Point, at: Places, line: Line, units: Container[str | None] = ()) -> None:
    """Raise InputError, naming the point, for words that its line has no place for.

    `units` are those that the values on the card are asked in.
    """
    if line.why not in ("", EMPTY) and of_another_line(line.why):
        hint = f"write - and the reason in words, - {EMPTY} where none is written"
        raise InputError(f"{line.why!r} is no reason", place=point.id, hint=hint)
    if not line.words or at.unit is not None:
        return
    mark, said = marked(line.words)
    if not (at.words or at.boxes):
        if said and (mark or any(line.written)):
            raise InputError(f"{said!r} has no place on this line", place=point.id, hint=_alone(point))
        return
    if (is_number(point) or point.kind == "ask") and _DIGITS.fullmatch(said):
        return  # of trouble codes, what is none is refused with how one is written
    ticks = at.boxes == (YES, NO)
    length = _LENGTH.fullmatch(said)
    if ticks and line.boxes and length is not None and length[1] not in units:
        return
    others = of_another_line(said) or (ticks and " ".join((*line.boxes, said)).lower() == NO_CODE)
    if others and (line.boxes or mark or not ticks):
        raise InputError(f"{said!r} has no place on this line", place=point.id, hint=_hint(point, at))


def is_number(point: Point) -> bool:
    """Whether a number alone may be what is written in words at a point."""
    return identifies(point) or (point.step is not None and point.step.affects in READ_OFF and not point.step.choices)


def marked(words: str) -> tuple[bool, str]:
    """Return whether words begin with the mark that it was done, and what is behind that."""
    mark, rest = first_word(words)
    return (True, rest) if mark.strip(",;:.").lower() == DONE else (False, words)


def beside_time(point: Point, at: Places, line: Line) -> str:
    """Return why words behind the time of a step that may be left out can hardly be meant; empty where they can."""
    step, said = point.step, marked(line.words)[1]
    if not said or step is None or point.kind != "step" or at.boxes or is_check(step) or step.affects in READ_OFF:
        return ""
    return f"behind a time {said!r} says that it was done; - and {said} says that it was left out, and why"


def _alone(point: Point) -> str:
    if point.kind == "run":
        return "write when it started, when it ended, and when each nipple was opened that opens with it"
    mark = "" if point.step is None else f", {EMPTY} {DONE} for a mark without one"
    return f"only a time is asked now: 10:42{mark}, {EMPTY} where nothing is written; words go on a line with note"


def _hint(point: Point, at: Places) -> str:
    if at.boxes == (YES, NO):
        return "behind yes or no write in words what was seen, or nothing"
    if point.kind == "ask":
        return f"write what the other tester showed; - and why it was not read; {EMPTY} where nothing is written"
    if at.boxes:
        return f"write one of: {'; '.join(at.boxes)}, or in words what else it was; {EMPTY} where nothing is written"
    return f"write in words: {at.words}; {EMPTY} where nothing is written"
