"""What was mended at a check that was not right, and where: what comes of it in the walk.

A job's state and an entry flow in, the state after it flows out. Rules that hold here: the check is looked at again
after it is said, not with it; a nipple that was tightened is torqued again before; a circuit that was opened is named
until a pass of it is done again; the checks that were right before are looked at again too.
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.job import closed_late, made_safe
from witnessmark.job.state import JobState
from witnessmark.job.steps import Point
from witnessmark.journal import bodies
from witnessmark.procedure import mending
from witnessmark.procedure.words import FINAL_CHECKS

OWN = "own words"
"""What stands for words of one's own until their place is said."""


def said(state: JobState, body: bodies.StepDone) -> JobState:
    """Return the state after it was said what was mended at the check in hand."""
    point = state.point
    if point is None or point.step is None:
        return state
    mended = (*(one for one in state.mended if one != point.step.id), point.step.id)
    due = (body.answer or OWN) if mending.has_place(body.answer) else ""
    return replace(state, mended=mended, mend=due)


def placed(state: JobState, body: bodies.StepDone) -> JobState:
    """Return the state after it was said where: torque, and the checks before, are asked again."""
    what, state = "" if state.mend == OWN else state.mend, replace(state, mend="")
    opened = mending.opened(state.procedure, what, body.answer)
    state = _checks_again(replace(state, to_bleed=tuple(dict.fromkeys((*state.to_bleed, *opened)))))
    return closed_late.tightened(state, body.nipple) if body.nipple else state


def bled(state: JobState, pass_id: str) -> JobState:
    """Return the state once a pass is to be done again: its circuits are bled with it."""
    one = state.pass_of(pass_id)
    of_it = {known.circuit for known in state.procedure.nipples if one is not None and known.id in one.nipples}
    return replace(state, to_bleed=tuple(name for name in state.to_bleed if name not in of_it))


def _checks_again(state: JobState) -> JobState:
    """Return the state with the checks behind the passes that were right before the mend ahead again, and the level."""
    done = [one for one in state.points[: state.cursor] if made_safe.is_last(state, one)]
    again = [one for one in done if _checks(one)]
    level = [one for one in done if again and one.step is not None and one.step.what == made_safe.LEVEL]
    return made_safe.ahead_again(state, [*again, *level])


def _checks(point: Point) -> bool:
    return point.step is not None and not {point.step.affects, *point.step.also}.isdisjoint(FINAL_CHECKS)
