"""What is done behind the last pass and holds no more: it is asked again, in its order.

A job's state flows in once a point was done, the state it goes on from flows out. Rules that hold here: a vehicle that
is made safe once more is lifted and its wheels are off again, so that no torque, refit, level or check before it stands
for how it leaves; a service mode that is entered again is left again; a pedal that is pumped once more moves the level;
what is left out was not done; letting off the feed and putting the old fluid away are not undone by it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import Point
from witnessmark.procedure import service_mode
from witnessmark.procedure.safe import safe_first

SAFE = "made-safe"
LEVEL = "level"
MOVES, FILLS = {"pedal-pumped", "level-set", "refill", "empty"}, {"volume-in", "volume-drawn", "volume-removed"}
"""What a step affects or reads that moves the level."""
PUT_AWAY = {"depressurise", "feed-off", "waste"}
"""What a step behind the passes affects that holds, whatever is done to the vehicle after it."""


def after(state: JobState, point: Point) -> JobState:
    """Return the state after a point was done, with what it undid of the steps behind the passes ahead again."""
    return ahead_again(state, [one for one in state.points[: state.cursor] if _is_undone(state, point, one)])


def put_back(state: JobState) -> JobState:
    """Return the state with what puts the vehicle back and checks it ahead again, in its order, where it was done."""
    return ahead_again(state, [one for one in state.points[: state.cursor] if _puts_back(state, one)])


def ahead_again(state: JobState, points: Sequence[Point]) -> JobState:
    """Return the state with these points of behind the passes, which were done, ahead again among those that were not.

    What was read at them holds no more.
    """
    undone = [one for one in points if not one.again]
    if not undone:
        return state
    kept = [one for one in state.points[: state.cursor] if one not in undone]
    ahead = state.points[state.cursor :]
    behind = [one for one in ahead if is_last(state, one) and not one.again]
    steps = [step.id for step in state.procedure.steps_after]
    in_order = sorted((*undone, *behind), key=lambda one: steps.index(one.step.id) if one.step is not None else 0)
    points = (*kept, *(one for one in ahead if one not in behind), *in_order)
    return unread(replace(state, points=tuple(points), cursor=len(kept)), undone)


def unread(state: JobState, points: Iterable[Point]) -> JobState:
    """Return the state in which nothing was read at these points yet; what shows that it is safe to open stays read."""
    safe = {(step.what or step.id, "", "") for step in safe_first(state.procedure)}
    whats = {(one.step.what or one.step.id, one.pass_id, one.nipple) for one in points if one.step is not None} - safe
    kept = tuple(one for one in state.readings if (one[0], one[1].pass_id, one[1].nipple) not in whats)
    return replace(state, readings=kept)


def besides(state: JobState, step: str) -> JobState:
    """Return the state after a step that the walk did not ask for then, as an earlier version may have: as `after`."""
    done = (one for one in state.points[: state.cursor] if one.step is not None and one.step.id == step)
    point = next(done, None)
    return state if point is None else after(state, point)


def _is_undone(state: JobState, point: Point, one: Point) -> bool:
    """Whether what a point behind the passes did holds no more once `point` was done."""
    before = point.step in state.procedure.steps_before
    if before and _says(point, SAFE):
        return _puts_back(state, one)
    if before and _says(point, service_mode.ON):
        return is_last(state, one) and _says(one, service_mode.OFF)
    reads_level = one.step is not None and one.step.what == LEVEL and is_last(state, one)
    return reads_level and point.again and _moves_level(point)


def _moves_level(point: Point) -> bool:
    return point.step is not None and (point.step.what in FILLS or any(_says(point, word) for word in MOVES))


def _says(point: Point, word: str) -> bool:
    return point.step is not None and word in (point.step.affects, *point.step.also)


def _puts_back(state: JobState, point: Point) -> bool:
    """Whether a point puts the vehicle back or checks it behind the passes."""
    put_away = not state.pressurised and point.step is not None and point.step.affects in PUT_AWAY
    return is_last(state, point) and not put_away


def is_last(state: JobState, point: Point) -> bool:
    """Whether a point is a step behind the passes."""
    return not point.pass_id and point.step in state.procedure.steps_after
