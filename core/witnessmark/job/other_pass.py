"""A later pass that is taken before its turn.

A job's state and the id of a pass flow in, the state it goes on from flows out. Rule that holds here: only a pass of
which nothing is done is moved, and what was done stays as it was.
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.job.state import JobState
from witnessmark.job.steps import walk


def first(state: JobState, pass_id: str) -> JobState:
    """Move a pass before the one that is next; what is behind the cursor stays as it was done.

    A bottle that the pass before shares with another than the one that now follows it is read first.
    """
    if pass_id not in state.passes_ahead:
        return state
    ahead = state.passes_ahead
    chosen = next(one for one in state.plan if one.id == pass_id)
    at = next(index for index, one in enumerate(state.plan) if one.id == ahead[0])
    rest = tuple(one for one in state.plan[at:] if one.id != pass_id)
    plan = (*state.plan[:at], chosen, *rest)
    points = walk(state.procedure, plan)
    begins = next(index for index, one in enumerate(points) if one.pass_id == pass_id)
    done = state.points[: state.cursor]
    before = done[-1].pass_id if done else ""
    bottle = [one for one in points[:begins] if one.step and (one.step.what, one.pass_id) == ("volume", before)]
    due = [one for one in bottle if before and one not in done]
    return replace(state, plan=plan, points=(*done, *due, *points[begins:]))
