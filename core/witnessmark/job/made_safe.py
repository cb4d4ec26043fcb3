"""A vehicle that is made safe once more behind the last pass: what puts it back and checks it is asked again after it.

A job's state flows in once a point was done, the state it goes on from flows out. Rules that hold here: it is lifted
and its wheels are off again, so that no torque, refit, level or check before it stands for how it leaves; what is left
out was not done; letting off the feed and putting the old fluid away are not undone by it. A service mode that is
entered again is left again.
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.job.state import JobState
from witnessmark.job.steps import Point

SAFE = "made-safe"
MODE_ON, MODE_OFF = "service-mode-on", "service-mode-off"
PUT_AWAY = {"depressurise", "feed-off", "waste"}
"""What a step behind the passes affects that holds, whatever is done to the vehicle after it."""


def after(state: JobState, point: Point) -> JobState:
    """Return the state after a point was done: where that lifts the vehicle, with the steps behind it ahead again."""
    if point.step not in state.procedure.steps_before:
        return state
    done, ahead = state.points[: state.cursor], state.points[state.cursor :]
    undone = tuple(one for one in done if _is_undone(state, point, one) and not one.again)
    if not undone:
        return state
    kept = tuple(one for one in done if one not in undone)
    first = next((at for at, one in enumerate(ahead) if _is_last(state, one) and not one.again), len(ahead))
    return replace(state, points=(*kept, *ahead[:first], *undone, *ahead[first:]), cursor=len(kept))


def besides(state: JobState, step: str) -> JobState:
    """Return the state after a step that the walk did not ask for then, as an earlier version may have: as `after`."""
    done = (one for one in state.points[: state.cursor] if one.step is not None and one.step.id == step)
    point = next(done, None)
    return state if point is None else after(state, point)


def _is_undone(state: JobState, point: Point, one: Point) -> bool:
    """Whether what a point behind the passes did holds no more once `point` was done."""
    if _says(point, SAFE):
        return _puts_back(state, one)
    return _says(point, MODE_ON) and _is_last(state, one) and _says(one, MODE_OFF)


def _says(point: Point, word: str) -> bool:
    return point.step is not None and word in (point.step.affects, *point.step.also)


def _puts_back(state: JobState, point: Point) -> bool:
    """Whether a point puts the vehicle back or checks it behind the passes."""
    put_away = not state.pressurised and point.step is not None and point.step.affects in PUT_AWAY
    return _is_last(state, point) and not put_away


def _is_last(state: JobState, point: Point) -> bool:
    return not point.pass_id and point.step in state.procedure.steps_after
