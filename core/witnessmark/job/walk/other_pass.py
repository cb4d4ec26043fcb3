"""A later pass that is taken before its turn.

A job's state and the id of a pass flow in, the state it goes on from flows out. Rule that holds here: only a pass that
is still to be done, or to be done again, and is not begun is moved, and what was done stays as it was.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import zip_longest

from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import BOTTLE, Point, visit


def first(state: JobState, pass_id: str) -> JobState:
    """Move a pass before the one that is next; what is behind the cursor stays as it was done.

    A bottle that the pass before shares with another than the one that now follows it is read first, and what is of no
    pass, or asked again, stays before the passes where it was.
    """
    ahead = state.passes_ahead
    if pass_id not in ahead:
        return state
    one = {each.id: each for each in state.plan}
    order = (one[pass_id], *(one[name] for name in ahead if name != pass_id))
    plan = [each for each in state.plan if each.id != pass_id]
    plan.insert(next((at for at, each in enumerate(plan) if each.id == ahead[0]), len(plan)), one[pass_id])
    done, left = state.points[: state.cursor], state.points[state.cursor :]
    before = one.get(done[-1].pass_id) if done else None
    due: list[Point] = []
    if before is not None and before.bottle_with in ahead:
        due = [each for each in visit(state.procedure, before, pass_id) if each.step and each.step.what == BOTTLE]
    last = max((at for at, each in enumerate(left) if each.pass_id and not each.again), default=-1)
    points = [*done, *(each for each in due if each not in done)]
    points += [each for each in left[: last + 1] if each.again or not each.pass_id]
    for each, then in zip_longest(order, order[1:]):
        points += visit(state.procedure, each, then.id if then is not None else "")
    points += [each for each in left[last + 1 :] if each.again or not each.pass_id]
    return replace(state, plan=tuple(plan), points=tuple(points))
