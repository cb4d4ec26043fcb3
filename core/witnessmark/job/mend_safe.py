"""What is mended at a check that was not right where what made the vehicle safe was undone: it is made safe first.

A job's state and a touch flow in, the state after it flows out. Rules that hold here: one key leads through what makes
it safe to where the mend is said, and what puts it back comes after that; who leaves it on the way mends nothing; a
mend that is said without is kept as it was said, and it is asked whether the vehicle was safe for it; where nothing was
undone nothing of this is asked.
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.job import made_safe, reopening
from witnessmark.job.state import JobState
from witnessmark.job.steps import Point
from witnessmark.journal import bodies
from witnessmark.procedure import mending

YES, NO = "yes", "no"
"""Whether it was made safe before it was mended, as somebody says."""


def due(state: JobState) -> list[Point]:
    """Return what makes the vehicle safe and was undone since, as it is asked before a mend; often nothing.

    What is asked before each pass is asked of none.
    """
    if not reopening.no_hand(state):
        return []
    return [*reopening.before(state, safe=True, fluid=False, fed=False), *reopening.before_each(state)]


def first(state: JobState) -> JobState:
    """Return the state in which the vehicle is made safe, and then mended, before the check in hand."""
    here, asked = state.point, due(state)
    if here is None or not asked:
        return state
    ahead = (*asked, replace(here, again=True, mends=True), *state.points[state.cursor :])
    return replace(state, points=(*state.points[: state.cursor], *ahead))


def leads(state: JobState) -> bool:
    """Whether the walk makes the vehicle safe in order to mend something."""
    return any(one.mends for one in state.points[state.cursor :])


def left(state: JobState) -> JobState:
    """Return the state in which nothing is mended after all: what was done on the way is put back."""
    ahead = state.points[state.cursor :]
    end = next(at for at, one in enumerate(ahead) if one.mends) + 1
    return replace(state, points=(*state.points[: state.cursor], *ahead[end:]))


def said(was: JobState, state: JobState, what: str) -> JobState:
    """Return the state after a mend was said; `was` is the one before."""
    asks = mending.has_place(what) and bool(due(was))
    return over(replace(state, was_safe_due=asks))


def over(state: JobState) -> JobState:
    """Return the state without the place where it is mended, once all is said of it and nothing is still to be bled."""
    if state.mend or state.to_bleed:
        return state
    ahead = (one for one in state.points[state.cursor :] if not one.mends)
    return replace(state, points=(*state.points[: state.cursor], *ahead))


def was(state: JobState, body: bodies.StepDone) -> JobState:
    """Return the state after it was said whether it was safe: what was made so is put back once more."""
    for point in due(state) if body.answer == YES else ():
        state = made_safe.after(state, point)
    return replace(state, was_safe_due=False)
