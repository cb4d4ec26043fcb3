"""Steps that are done again: which of them are offered, and where the walk takes them up.

A job's state flows in; points, keys and states flow out. Rules that hold here: only a step that the procedure lets be
repeated, and that the walk has passed, is offered, each with a key of its own that stays the same through the job; it
is done where the job stands, and what was done before stays as it was; never while a run is asked for or undecided.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import msgspec

from witnessmark.job.amiss import mend_safe
from witnessmark.job.fluid import feed
from witnessmark.job.view import Button, View
from witnessmark.job.walk import reopening
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import Point
from witnessmark.procedure.model import Step
from witnessmark.procedure.repeated import KEYS, repeated

KINDS = ("step", "reading", "open", "close", "arm", "done")
"""Views beside which a step may be done again."""
NOT_NEEDED = "not needed: nothing is opened or lifted any more"
ON_ITS_WHEELS = "not needed: looked, it stands on its wheels and off its supports"
"""What the same key says where the record does not have the wheels put back on: nobody need have seen that."""
NOT_MENDED = "not now after all: nothing is mended"
LONGEST = 32
"""Letters of a step's text on its key; a choice of this project."""


def offered(state: JobState) -> dict[str, Point]:
    """Return the steps that may be done again now, by key: as it would be done where the job stands."""
    found: dict[str, Point] = {}
    keys = dict(zip((step.id for step in repeated(state.procedure)), KEYS, strict=False))
    for point in state.points[: state.cursor]:
        if point.step is not None and not point.again and point.step.id in keys:
            found[keys[point.step.id]] = _here(state, point)
    return dict(sorted(found.items()))


def _here(state: JobState, point: Point) -> Point:
    """Return a point as it is done where the job stands: what belongs to no nipple of an earlier pass is of no pass."""
    now = state.point.pass_id if state.point is not None else ""
    of_its_visit = point.nipple or (point.step is not None and point.step.what == "volume")
    return point if of_its_visit or point.pass_id == now else replace(point, pass_id="")


def beside(state: JobState, view: View) -> View:
    """Return the view with a key for each step that may be done again, or with one to leave what is done again."""
    point = state.point
    asked = state.decide or state.cued or state.mend or state.was_safe_due
    if view.kind not in KINDS or asked or (view.kind == "done" and not view.buttons):
        return view
    if point is not None and point.again and view.kind in ("step", "reading"):
        if point.late or feed.must_be(state, point):
            return view
        return msgspec.structs.replace(view, buttons=(*view.buttons, Button("x", "not now after all")))
    if point is not None and view.kind in ("step", "reading") and mend_safe.leads(state):
        leave = () if mend_safe.is_said(state) else (Button("x", NOT_MENDED),)
        return msgspec.structs.replace(view, buttons=(*view.buttons, *leave))
    if point is not None and view.kind in ("step", "reading") and reopening.may_be_left(state, point):
        says = ON_ITS_WHEELS if reopening.wheels_off(state) else NOT_NEEDED
        view = msgspec.structs.replace(view, buttons=(*view.buttons, Button("x", says)))
    if point is not None and (point.again or point.kind == "run"):
        return view
    buttons = (Button(key, f"again: {_short(one.step)}") for key, one in offered(state).items() if one.step)
    return msgspec.structs.replace(view, buttons=(*view.buttons, *buttons))


def take_up(state: JobState, points: Iterable[Point]) -> JobState:
    """Return the state in which these points are asked again before all else."""
    here = tuple(replace(one, again=True) for one in points)
    return replace(state, points=(*state.points[: state.cursor], *here, *state.points[state.cursor :]))


def take_up_step(state: JobState, step: str) -> JobState:
    """Return the state in which a step is done again; unchanged where it may not be."""
    return take_up(state, (one for one in offered(state).values() if one.step is not None and one.step.id == step))


def leave(state: JobState, step: str) -> JobState:
    """Return the state in which a step that was to be done again is not."""
    point = state.point
    if point is None or point.late or point.step is None or point.step.id != step:
        return state
    if mend_safe.leads(state):
        return mend_safe.left(state) if point.mends or not mend_safe.is_said(state) else state
    if not point.again and not reopening.may_be_left(state, point):
        return state
    return replace(state, points=(*state.points[: state.cursor], *state.points[state.cursor + 1 :]))


def _short(step: Step) -> str:
    if len(step.text) <= LONGEST:
        return step.text
    return step.text[:LONGEST].rpartition(" ")[0].rstrip(",;:.") + " ..."
