"""What is mended at a check that was not right where what made the vehicle safe was undone: it is made safe first.

A job's state and a touch flow in, the state after it flows out. Rules that hold here: one key leads through what makes
it safe to where the mend is said, and what puts it back comes after that; who leaves it on the way mends nothing; a
mend that is said without is kept as it was said, and it is asked whether the vehicle was safe for it; where it was not,
or nobody knows, it is made safe before a hand is sent to a nipple, and so it is before what was opened is bled; where
nothing was undone nothing of this is asked; what shows that it is safe holds for no hand once the job lay.
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.job.walk import made_safe, reopening
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import Point
from witnessmark.journal import bodies
from witnessmark.procedure import mending
from witnessmark.procedure.safe import safe_first

YES, NO, NOT_KNOWN = "yes", "no", mending.NOT_KNOWN
"""Whether it was made safe before it was mended, as somebody says, or that nobody knows."""


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


def stale(state: JobState) -> list[Point]:
    """Return what shows that it is safe for what a mend still asks of hands: its readings, or all before the mend."""
    ahead = state.points[state.cursor :]
    if not (leads(state) or (state.mended and _touches(state))):
        return []
    asked = {one.step for one in ahead if not one.pass_id}
    points = [*reopening.before(state, safe=True, fluid=False, fed=False), *reopening.before_each(state)]
    left = {one.id: one for one in points if one.step not in asked}.values()
    read = safe_first(state.procedure)
    return [one for one in left if one.step in read or (not read and leads(state))]


def resumed(state: JobState) -> JobState:
    """Return the state in which that is asked again before all else: as a job goes on that lay."""
    return replace(state, points=(*state.points[: state.cursor], *stale(state), *state.points[state.cursor :]))


def is_said(state: JobState) -> bool:
    """Whether it was said already what was mended at the check for which it is made safe: it is not left on the way."""
    ahead = state.points[state.cursor :]
    return any(one.mends and one.step is not None and one.step.id in state.mended for one in ahead)


def _touches(state: JobState) -> bool:
    """Whether a hand is sent to a nipple before the check is looked at again."""
    return any(one.late for one in state.points[state.cursor :])


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
    """Return the state after it was said whether it was safe: what was made so is put back once more.

    Before anything is bled for it, and where it was not safe before a nipple is touched, it is made safe.
    """
    if not state.was_safe_due:
        return state
    asked, state = due(state), replace(state, was_safe_due=False)
    if state.to_bleed or (body.answer != YES and _touches(state)):
        return _safe_first(state, asked)
    for point in asked if body.answer == YES else ():
        state = made_safe.after(state, point)
    return state


def _safe_first(state: JobState, asked: list[Point]) -> JobState:
    """Return the state in which it is made safe after it was said what was mended; then what was opened is bled."""
    ahead = state.points[state.cursor :]
    places = (at for at, one in enumerate(ahead) if one.step is not None and one.step.id in state.mended[-1:])
    check = next(places, len(ahead))
    bleeds = [replace(one, again=True, mends=True) for one in ahead[check : check + 1] if state.to_bleed]
    torque, looks = ([one for one in ahead[:check] if one.late is late] for late in (True, False))
    points = (*state.points[: state.cursor], *asked, *torque, *bleeds, *looks, *ahead[check:])
    return replace(state, points=points)
