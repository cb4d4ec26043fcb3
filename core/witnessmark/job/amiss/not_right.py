"""Checks that were looked at and not right: before they are looked at again it is said what was mended.

A job's state and a touch flow in, the state after it flows out. Rules that hold here: nothing is asked of a check that
never said no, who mended nothing can say so, and a leak that shows only on the road is looked for with the pedal held.
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.job.amiss import mend_safe, mending
from witnessmark.job.reasons import LEAKS
from witnessmark.job.walk import made_safe
from witnessmark.job.walk.state import REDO, JobState
from witnessmark.journal import bodies
from witnessmark.procedure.mending import BLED, MENDED, MENDED_AT
from witnessmark.procedure.model import Step
from witnessmark.procedure.own import MAKE_SAFE, WAS_SAFE
from witnessmark.procedure.steps import is_check, words_of
from witnessmark.procedure.words import FINAL_CHECKS

LEAK_CHECK = FINAL_CHECKS[0]


def note(state: JobState, body: bodies.StepDone) -> JobState:
    """Take note of a check that was looked at and not right, what was mended since, or that it is right now."""
    word = state.word(body)
    if word == MENDED:
        return mend_safe.said(state, mending.said(state, body), body.answer)
    if word == MENDED_AT:
        return mend_safe.over(mending.placed(state, body))
    if word == MAKE_SAFE:
        return mend_safe.first(state)
    if word == WAS_SAFE:
        return mend_safe.was(state, body)
    if word == REDO:
        return mending.again(state)
    if not _checks(state, body) or not (body.looked or body.act in ("done", "confirmed")):
        return state
    others = tuple(one for one in state.not_right if one != body.step)
    mended = tuple(one for one in state.mended if one != body.step)
    state = replace(state, mended=mended, mend="" if state.mend == BLED else state.mend)
    if not body.looked:
        return replace(state, not_right=others)
    return _leaks(replace(state, not_right=(*others, body.step), rebled=()), body)


def _leaks(state: JobState, body: bodies.StepDone) -> JobState:
    """Have it looked for leaks again, with the pedal held, where something leaks that was seen only at a later step."""
    if body.said != LEAKS:
        return state
    done = (one for one in state.points[: state.cursor] if made_safe.is_last(state, one))
    looks = [one for one in done if one.step and LEAK_CHECK in words_of(one.step) and one.step.id != body.step]
    return made_safe.ahead_again(state, looks)


def _checks(state: JobState, body: bodies.StepDone) -> bool:
    """Whether an entry is of a step that checks at the end; one that looked and says no says no more of what it is."""
    own = state.procedure
    groups = (own.steps_before, own.steps_before_each_pass, own.steps_after_each_pass, own.steps_after)
    steps = [step for group in groups for step in group if step.id == body.step and is_check(step)]
    said = {body.affects, *(word for step in steps for word in (step.affects, *step.also))}
    return not said.isdisjoint(FINAL_CHECKS)


def seen(state: JobState, step: str) -> bool:
    """Say whether a check was not right when it was looked at last."""
    return step in state.not_right


def must_say(state: JobState, step: str) -> bool:
    """Say whether it is to be said first what was mended since a check was looked at last."""
    return seen(state, step) and step not in state.mended


def holds(state: JobState, step: Step) -> bool:
    """Say whether a walk stays at a step that was said no to: it is not left out, or was seen not to be right."""
    return not step.may_skip or seen(state, step.id)
