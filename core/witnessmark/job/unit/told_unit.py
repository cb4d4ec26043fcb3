"""What a person reads of the control unit on another tester and types: the vehicle's number, and trouble codes.

A job's state and what was typed flow in, bodies and the state after them flow out. Rules that hold here: it is told,
by a person, and never counts as read; a number that is another one than the order's stays in the record, and the walk
stays there until it is said why it is gone on; one that is none as ISO 3779 has them is taken only as read, unless the
order's own is none; a code is written as a tester shows it; that there is none is said with a key of its own, and no
typed words mean that.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Literal

from witnessmark.errors import InputError
from witnessmark.job.walk.state import VEHICLE, JobState
from witnessmark.job.walk.steps import Point
from witnessmark.journal.bodies import CodeScan, Condition
from witnessmark.wire import vin
from witnessmark.wire.dtc import format_code, parse_code

_NUMBER = re.compile(r"(?=.*[0-9])[0-9A-Z]{4,17}")
AS_READ = "as read"
"""What is typed behind a number that is none as vehicles have them, where the other tester shows just that."""
_AS_READ = re.compile(rf"\s+{AS_READ}\s*$", re.IGNORECASE)
_BETWEEN = re.compile(r"[\s-]")


def said(state: JobState, point: Point, text: str | None) -> Condition | CodeScan:
    """Return what a person says that the other tester shows, None for no code. Raises InputError for what it cannot."""
    assert point.step is not None
    if point.step.act == "identify":
        return _number(state, text or "")
    begun = point.again and any(one.pass_id for one in state.points[: state.cursor])
    early = point.step in state.procedure.steps_before and not begun
    when: Literal["before", "after"] = "before" if early else "after"
    unit = state.procedure.control_unit
    return CodeScan(when=when, codes=() if text is None else _codes(text), control_unit=unit, step=point.step.id)


def found(state: JobState, body: Condition) -> JobState:
    """Return the state after the vehicle's number was read or told: only what was read is held to the unit later."""
    if body.name != VEHICLE or (not body.holds and body.source == "read"):
        return state
    if not body.holds:
        return replace(state, other_vehicle=body.found)
    point = state.point
    asked = point is not None and point.step is not None and point.step.act == "identify"
    read = body.found if body.source == "read" else state.vehicle_read
    return replace(state, vehicle_read=read, other_vehicle="", cursor=state.cursor + asked)


def _number(state: JobState, text: str) -> Condition:
    typed, as_read = _AS_READ.subn("", text)
    number, wanted = (_BETWEEN.sub("", one).upper() for one in (typed, state.vehicle))
    if not _NUMBER.fullmatch(number):
        hint = "type the letters and digits that the other tester shows, up to 17"
        raise InputError(f"{text.strip()!r} is no number of a vehicle", place="said", hint=hint)
    if not as_read and not (wanted and _unlike_vin(wanted)) and (unlike := _unlike_vin(number)):
        hint = f"put it right; or, where the other tester shows just that, type it so: {number} {AS_READ}"
        raise InputError(f"REALLY {number}? {unlike}", place="said", hint=hint)
    holds = not wanted or number == wanted
    return Condition(name=VEHICLE, found=number, wanted=wanted or "any: none was typed", holds=holds, source="told")


def _unlike_vin(number: str) -> str:
    """Say why a number is none as ISO 3779 has them; empty where it is."""
    try:
        vin.normalise(number)
    except InputError as error:
        return error.what
    return ""


def _codes(text: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(format_code(parse_code(one)) for one in re.split(r"[\s,;]+", text.strip())))
