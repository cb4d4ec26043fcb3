"""What one line of a card says, as the bodies of its entries.

A job's state and a line flow in; kind, time and body of each entry flow out, in order. Rules that hold here: a run is
`told`; a point is left out only where the bay's screen lets it be; nothing is said of a place that is not written but
that it is not, and the walk goes on behind it; what was read outside its limits stays read without a reason; what is
ticked beside an empty value is said all the same; it was read with what its line names, else nobody knows with what.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

from msgspec import structs

from witnessmark.errors import InputError
from witnessmark.host.card import card_mend, card_words
from witnessmark.host.card.card_line import DONE, EMPTY, Day, Line
from witnessmark.job.amiss import unwritten
from witnessmark.job.amount import asked_in, unit_of
from witnessmark.job.fluid.bottle import inside
from witnessmark.job.fluid.container import IN_VEHICLE, READ_OFF, UNKNOWN
from witnessmark.job.keys import told_run
from witnessmark.job.unit import told_unit
from witnessmark.job.walk.places import BOXES, NO, NO_CODE, NOT_CLEAR, YES, identifies, may_leave
from witnessmark.job.walk.state import READY, UNCLEAR, UNEXPLAINED, UNWRITTEN, JobState
from witnessmark.job.walk.steps import Point
from witnessmark.journal import bodies
from witnessmark.journal.entry import Occurred
from witnessmark.procedure.model import Pass, Step
from witnessmark.procedure.steps import is_check
from witnessmark.quantity import parse

Made = tuple[str, Occurred, Any]


def unit_at(point: Point) -> str:
    """Return the unit that a reading without one is taken in."""
    return asked_in(point.step, point.limit) if point.step else unit_of(point.limit)


def refused(state: JobState) -> bool:
    """Whether the point is a reading that was outside its limits the last time."""
    point = state.point
    if point is None or point.kind != "reading" or point.step is None:
        return False
    last = state.reading(point.step.what or point.step.id)
    same = last is not None and (last.pass_id, last.nipple) == (point.pass_id, point.nipple)
    return same and last is not None and last.within is False


def bodies_of(state: JobState, point: Point, line: Line, day: Day) -> Sequence[Made]:
    """Return kind, time and body of each entry of a line. Raises InputError for one that does not fit its point."""
    if line.why:
        when = line.times[0] if line.times else day.unknown()
        return [("step", when, _left_out(state, point, line.why))]
    if point.kind == "run":
        return _run(state, point, line)
    if point.kind == "ask":
        return [_told(state, point, line)]
    if point.kind == "reading":
        read = _reading(point, line, state) if line.value else _unread(state, point, line)
        return [("reading" if line.value else "step", line.times[0], read), *_unclear(point, line)]
    return [("step", line.times[0], _step(state, point, line))]


def _told(state: JobState, point: Point, line: Line) -> Made:
    """Return what a person read off another tester, as the same key in the bay has it told."""
    number = identifies(point)
    if not (line.words or line.boxes) and line.rest:
        left = _not_written(point)
        return "step", line.times[0], structs.replace(left, step=UNEXPLAINED) if state.codes_due else left
    if not (line.words or line.boxes):
        hint = "the number it showed" if number else f"the codes it showed, or {NO_CODE}"
        hint = f"write 10:42 and {hint}; - and why it was not read; {EMPTY} where nothing is written"
        raise InputError("it does not say what another tester showed", place=point.id, hint=hint)
    body = told_unit.said(state, point, None if NO_CODE in line.boxes else line.words)
    return "condition" if number else "scan", line.times[0], body


def _not_written(point: Point, also: Sequence[str] = ()) -> bodies.StepDone:
    """Return that the card says nothing of a point, but for what is ticked beside it."""
    return bodies.StepDone(
        step=UNWRITTEN,
        act="confirmed",
        pass_id=point.pass_id,
        nipple=point.nipple,
        answer=unwritten.name_of(point),
        also=tuple(also),
    )


def _run(state: JobState, point: Point, line: Line) -> Sequence[Made]:
    """Return a run as told, or that it is not written, and the nipples that open with it or after it."""
    one = state.pass_of(point.pass_id)
    assert one is not None
    made: list[Made] = [("step", line.times[0], _not_written(point))]
    if any(line.written[:2]):
        made = [("intent", line.times[0], told_run.started(state, one)), ("outcome", line.times[1], _ended(one, line))]
    for nipple, at, written in zip(one.nipples, line.times[2:], line.written[2:], strict=False):
        opened = bodies.StepDone(step="open", act="opened", pass_id=one.id, nipple=nipple)
        made.append(("step", at, opened if written else _not_written(Point("open", one.id, nipple))))
    ready = bodies.StepDone(step=READY, act="confirmed", pass_id=one.id)
    return [("step", line.times[0], ready), *made] if line.by else made


def _ended(one: Pass, line: Line) -> bodies.Outcome:
    """Return how a run ended: as the card says, or some time on its day, and nobody wrote when."""
    said = line.written[1]
    return bodies.Outcome(
        actuation=0,
        pass_id=one.id,
        result="completed",
        stop="confirmed" if said else "unknown",
        why=bodies.CARD_SAYS if said else bodies.CARD_ENDLESS,
    )


def _unread(state: JobState, point: Point, line: Line) -> bodies.StepDone:
    """Return that a value is not written; its time says that the nipple was closed, a box what is ticked.

    Of a value that was written before, outside its limits, only the reason why it stays so is missing.
    """
    closed = ("closed",) if any(line.written) and "closed" in _also(state, point, ()) else ()
    silent = _not_written(point, also=(*closed, *(word for word in point.also if word in line.boxes)))
    return structs.replace(silent, step=UNEXPLAINED) if refused(state) else silent


def _left_out(state: JobState, point: Point, why: str) -> bodies.StepDone:
    step = point.step.id if point.step else point.kind
    if refused(state) or state.codes_due == step:  # not left out: it was read, and stays as it was read
        if why == EMPTY:
            return structs.replace(_not_written(point), step=UNEXPLAINED)
        return bodies.StepDone(step=step, act="confirmed", pass_id=point.pass_id, nipple=point.nipple, said=why)
    if not may_leave(point):
        hint = f"write it as the card says it; {EMPTY} where nothing is written: there is no proof of it then"
        raise InputError("this cannot be left out", place=point.id, hint=hint)
    said = "" if why == EMPTY else why
    if point.step is not None and point.step.affects == IN_VEHICLE and is_check(point.step):
        return bodies.StepDone(step=step, act="confirmed", affects=IN_VEHICLE, answer=UNKNOWN, said=said)
    return bodies.StepDone(step=step, act="skipped", pass_id=point.pass_id, nipple=point.nipple, said=said)


def _unclear(point: Point, line: Line) -> Sequence[Made]:
    """Return that it was looked at and did not run clear, where that box is ticked."""
    if NOT_CLEAR not in line.boxes:
        return ()
    body = bodies.StepDone(
        step=UNCLEAR, act="skipped", pass_id=point.pass_id, nipple=point.nipple, affects="clear", said=line.words,
        looked=True,
    )  # fmt: skip
    return [("step", line.times[0], body)]


def _step(state: JobState, point: Point, line: Line) -> bodies.StepDone:
    step = point.step
    if step is None or not _says_more(step, line):
        return _by_time(state, point, line)
    said = line.boxes[0] if line.boxes and line.boxes[0] not in (YES, NO) else line.words
    reads_off = step.affects in READ_OFF
    yes_or_no = is_check(step) and not step.choices and not reads_off
    if not line.boxes and (yes_or_no or not said):
        if line.rest and not said:
            return _not_written(point)
        what, how = _missing(step, reads_off)
        how += "".join(f"; or {way}" for way in card_mend.ways(state))
        raise InputError(what, place=point.id, hint=f"write {how}; {EMPTY} where nothing is written")
    no = NO in line.boxes
    chosen = reads_off or said in step.choices
    return bodies.StepDone(
        step=step.id,
        act="skipped" if no else "confirmed" if step.act == "check" else "done",
        pass_id=point.pass_id,
        nipple=point.nipple,
        affects=step.affects,
        answer=said if chosen else "",
        said="" if chosen else said,
        also=() if no else _also(state, point, ()),
        looked=no,
    )


def _says_more(step: Step, line: Line) -> bool:
    """Whether more than a time or a mark is to be read from a line; of a drive a time alone says that it was done."""
    asked = step.act == "check" or step.choices or step.affects in READ_OFF
    spoken = is_check(step) and line.words and not card_words.marked(line.words)[0]
    return bool(line.boxes or asked or spoken)


def _missing(step: Step, reads_off: bool) -> tuple[str, str]:
    """Return what a line that says nothing does not say, and how it is written."""
    if step.choices and not reads_off:
        return "nothing is chosen", f"10:42 and one of: {', '.join(step.choices)}, or what else it was"
    if reads_off:
        return "it does not say what was read", "10:42 DOT 4"
    return "it says neither yes nor no", "10:42 yes, or 10:42 no and what was seen"


def _by_time(state: JobState, point: Point, line: Line) -> bodies.StepDone:
    """Return what a time alone says, or a mark without one; of a nipple nothing else has a place."""
    marked, said = card_words.marked(line.words)
    if not any(line.written) and not marked:
        if said:
            hint = f"write {EMPTY} {DONE} for a mark without a time, {EMPTY} alone where nothing is written"
            raise InputError("there is neither a time nor a mark", place=point.id, hint=hint)
        return _not_written(point)
    step = point.step
    if step is None:
        act: Literal["opened", "closed"] = "opened" if point.kind == "open" else "closed"
        return bodies.StepDone(step=point.kind, act=act, pass_id=point.pass_id, nipple=point.nipple)
    return bodies.StepDone(
        step=step.id,
        act="done",
        pass_id=point.pass_id,
        nipple=point.nipple,
        affects=step.affects,
        said=said,
        also=_also(state, point, ()),
    )


def _also(state: JobState, point: Point, boxes: Sequence[str]) -> tuple[str, ...]:
    """Return what a touch says besides: of what has boxes that which is ticked, closed only where it stands open."""
    ticked = [word for word in point.also if word not in BOXES or point.kind != "reading" or word in boxes]
    return tuple(word for word in ticked if word != "closed" or point.nipple in state.open_nipples)


def _reading(point: Point, line: Line, state: JobState) -> bodies.Reading:
    step = point.step
    assert step is not None
    amount = parse(line.value, place=point.id, unit=unit_at(point))
    limit = point.limit
    return bodies.Reading(
        what=step.what or step.id,
        amount=bodies.Amount(value=amount.value, unit=amount.unit),
        step=step.id,
        pass_id=point.pass_id,
        instrument=line.tool,
        low=limit.low if limit else "",
        high=limit.high if limit else "",
        within=inside(state, step.what, point.pass_id, amount, limit),
        nipple=point.nipple,
        affects=step.affects,
        also=_also(state, point, line.boxes),
        calibrated_until=dict(state.instruments).get(line.tool, ""),
    )
