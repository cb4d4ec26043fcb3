"""What is written by hand at a point of the walk: the places of the card, and what `job enter` asks for there.

A point flows in, its places flow out. Rules that hold here: card and `job enter` both take them from here, so that
neither has a place that the other does not know; a time says that it was done; what has a box of its own is said by
that box alone, and an empty one says nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

from witnessmark.job.amount import asked_in
from witnessmark.job.fluid.container import READ_OFF
from witnessmark.job.walk.steps import Point, is_bottle
from witnessmark.procedure.model import Pass
from witnessmark.procedure.steps import is_check

NOT_CLEAR = "not clear"
BOXES = {"clear": ("clear", NOT_CLEAR), "capped": ("capped",)}
"""The words beside a reading that have boxes of their own."""
YES, NO = "yes", "no"
NO_CODE = "no code"
"""The box that another tester shows no trouble code: no words say that."""


@dataclass(frozen=True, slots=True)
class Places:
    """`times` are the words before each time, `unit` that of a value (None: no value), `boxes` what may be ticked.

    `tool` is the instrument that the procedure reads with, `words` is what may be written in words; `by` asks who did
    it, beside the one whom the card is of.
    """

    times: tuple[str, ...] = ()
    unit: str | None = None
    boxes: tuple[str, ...] = ()
    words: str = ""
    by: bool = False
    tool: str = ""

    @property
    def kinds(self) -> tuple[str, ...]:
        """Return a word for each place."""
        found = [f"time {number}" for number in range(1, len(self.times) + 1)]
        found += ["value"] if self.unit is not None else []
        found += [f"box {one}" for one in self.boxes]
        found += ["words"] if self.words else []
        found += ["box with", "with"] if self.tool else []
        return (*found, *(["by"] if self.by else []))


def places(point: Point, one: Pass | None = None) -> Places:
    """Return the places of a point; `one` is its pass."""
    step = point.step
    if point.kind == "run":
        return Places(times=("from", "to", *_opened(one)), by=one is not None and one.two_people)
    if step is None:
        return Places(times=("opened at" if point.kind == "open" else "closed at",))
    if point.kind == "ask":
        return Places(times=("at",), boxes=() if identifies(point) else (NO_CODE,), words=left_out(point))
    times = ("closed at" if point.closes else "at",)
    by = step.person == "second"
    if point.kind == "reading":
        return Places(times, asked_in(step, point.limit), boxes_of(point), left_out(point), by, step.instrument)
    boxes = step.choices or ((YES, NO) if is_check(step) and step.affects not in READ_OFF else ())
    return Places(times, None, boxes, left_out(point), by)


def _opened(one: Pass | None) -> tuple[str, ...]:
    """Return the words before the time of each nipple that opens with the run or after it has begun."""
    if one is None or one.order not in ("with", "after"):
        return ()
    return tuple(f"{name} opened at" if len(one.nipples) > 1 else "opened at" for name in one.nipples)


def boxes_of(point: Point) -> tuple[str, ...]:
    """Return the boxes beside a reading."""
    return tuple(box for word in point.also for box in BOXES.get(word, ()))


def left_out(point: Point) -> str:
    """Return what words mean at a point, empty where it cannot be left out and nothing is to be said."""
    step = point.step
    if point.kind == "ask":
        return "what another tester shows, or not read, because"
    if step is None:
        return ""
    if step.affects in READ_OFF:
        return "what it says, or why it cannot be read" if not step.choices else "something else, or not to be read"
    if is_check(step):
        return "what was seen, or why it could not be"
    if step.may_skip:
        return "left out, because"
    return "what was seen" if NOT_CLEAR in boxes_of(point) else ""


def identifies(point: Point) -> bool:
    """Whether a point asks for the vehicle's number, not for trouble codes."""
    return point.step is not None and point.step.act == "identify"


def may_leave(point: Point) -> bool:
    """Whether a point may be left with a reason: the same that a key at the bay's screen lets."""
    step = point.step
    if step is None:
        return False
    return point.kind == "ask" or step.may_skip or is_check(step) or is_bottle(point)
