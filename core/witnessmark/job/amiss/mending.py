"""What was mended at a check that was not right, and where: what comes of it in the walk.

A job's state and an entry flow in, the state after it flows out. Rules that hold here: the check is looked at again
after it is said, not with it; a nipple that was tightened is torqued again before; a nipple whose line was opened is
named until it was bled (`bled`), and the reservoir is looked at before the feed is put on for it; the checks that were
right before are looked at again too; that it was bled again is said with the pass that is done for it, where none was.
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.job.walk import closed_late, made_safe
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import Point
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
    asks = mending.has_place(body.answer) or (body.answer == mending.BLED and not state.rebled)
    due = (body.answer or OWN) if asks else ""
    return replace(state, mended=mended, mend=due)


def placed(state: JobState, body: bodies.StepDone) -> JobState:
    """Return the state after it was said where: torque, and the checks before, are asked again."""
    what, state = "" if state.mend == OWN else state.mend, replace(state, mend="")
    if what == mending.BLED:
        return state
    opened = mending.opened(state.procedure, what, body.nipple, body.answer)
    state = replace(state, tank=state.tank.opened()) if opened else state
    state = _checks_again(replace(state, to_bleed=tuple(dict.fromkeys((*state.to_bleed, *opened)))))
    return closed_late.tightened(state, body.nipple) if body.nipple and what == mending.TIGHTENED else state


def again(state: JobState) -> JobState:
    """Return the state once a pass is to be done again: what is said to be bled again is bled with it."""
    return replace(state, mend="" if state.mend == mending.BLED else state.mend)


def _checks_again(state: JobState) -> JobState:
    """Return the state with the checks behind the passes that were right before the mend ahead again, and the level."""
    done = [one for one in state.points[: state.cursor] if made_safe.is_last(state, one)]
    again = [one for one in done if _checks(one)]
    level = [one for one in done if again and one.step is not None and one.step.what == made_safe.LEVEL]
    return made_safe.ahead_again(state, [*again, *level])


def _checks(point: Point) -> bool:
    return point.step is not None and not {point.step.affects, *point.step.also}.isdisjoint(FINAL_CHECKS)
