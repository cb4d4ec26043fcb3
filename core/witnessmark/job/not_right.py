"""Checks that were looked at and not right: a yes after that says what was mended.

A job's state and a touch flow in, the state after it flows out, or what the touch says was mended. Rules that hold
here: nothing is asked of a check that never said no, and who mended nothing can say so; where a circuit was opened to
mend it, each pass that was done can be done again first, and the checks behind the passes come again after it.
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.job.reasons import NOTHING_MENDED
from witnessmark.job.state import JobState
from witnessmark.journal import bodies
from witnessmark.procedure.words import FINAL_CHECKS


def note(state: JobState, body: bodies.StepDone) -> JobState:
    """Take note of a check that was looked at and not right, or that it is right now."""
    if not _checks(state, body) or not (body.looked or body.act in ("done", "confirmed")):
        return state
    others = tuple(one for one in state.not_right if one != body.step)
    return replace(state, not_right=(*others, body.step) if body.looked else others)


def _checks(state: JobState, body: bodies.StepDone) -> bool:
    """Whether an entry is of a step that checks at the end; one that looked and says no says no more of what it is."""
    own = state.procedure
    groups = (own.steps_before, own.steps_before_each_pass, own.steps_after_each_pass, own.steps_after)
    steps = [step for group in groups for step in group if step.id == body.step and step.act == "check"]
    said = {body.affects, *(word for step in steps for word in (step.affects, *step.also))}
    return not said.isdisjoint(FINAL_CHECKS)


def seen(state: JobState, step: str) -> bool:
    """Say whether a check was not right when it was looked at last."""
    return step in state.not_right


def may_bleed_again(state: JobState) -> tuple[str, ...]:
    """Return the passes that may be done again at a check of a finished walk that was not right; often none."""
    point = state.point
    if point is None or point.step is None or not seen(state, point.step.id):
        return ()
    if state.open_nipples or state.decide or any(one.pass_id for one in state.points[state.cursor :]):
        return ()
    return tuple(dict.fromkeys(one.pass_id for one in state.points[: state.cursor] if one.pass_id))


def mended(state: JobState, step: str, said: str) -> str:
    """Return what a yes with these words says was mended; empty where nothing was, or nothing had to be."""
    return "" if not seen(state, step) or said == NOTHING_MENDED else said.strip()
