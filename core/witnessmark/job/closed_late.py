"""A nipple that is closed after what vouches for it was said: that is said again, and what puts the vehicle back.

A job's state flows in as a nipple is closed, the state it goes on from flows out. Rules that hold here: what was said
of a nipple before it was closed, and what was put back and checked behind the passes, cannot vouch for it; how it ran
is not asked again, for nobody sees that any more; what is asked so is not put off. In a walk that goes its way nothing
of it was said yet.
"""

from __future__ import annotations

from dataclasses import replace

from msgspec import structs

from witnessmark.job import decided, made_safe
from witnessmark.job.state import JobState
from witnessmark.job.steps import Point

VOUCHES = {"torque", "torqued", "capped"}
"""What a step behind a pass reads or affects that says how its nipple was left."""
OVER = ("closed", "clear")
"""What such a step may say besides that is not said again."""
SAYS = "The nipple was closed only after this was said: it counts once it is said again."


def after(state: JobState, nipple: str) -> JobState:
    """Return the state after a nipple that stood open, or may have, was closed."""
    own = [_once_more(one) for one in _of_last_visit(state, nipple) if _vouches(state, one, nipple)]
    state = made_safe.put_back(state)
    ahead = state.points[state.cursor :]
    own = [one for one in dict.fromkeys(own) if one not in ahead]
    first = next((at for at, one in enumerate(ahead) if not decided.asked_again(state, one)), len(ahead))
    state = made_safe.unread(state, own)
    return replace(state, points=(*state.points[: state.cursor], *ahead[:first], *own, *ahead[first:]))


def _of_last_visit(state: JobState, nipple: str) -> list[Point]:
    """Return the points that were passed of the pass at which a nipple was opened or run last, since then."""
    done = [one for one in state.points[: state.cursor] if not one.again]
    visits = {one.id for one in state.plan if nipple in one.nipples}
    begun = [at for at, one in enumerate(done) if one.kind in ("open", "run") and one.pass_id in visits]
    return [one for one in done[begun[-1] :] if one.pass_id == done[begun[-1]].pass_id] if begun else []


def _vouches(state: JobState, point: Point, nipple: str) -> bool:
    step = point.step
    if step is None or point.nipple not in ("", nipple):
        return False
    behind = any(one.id == step.id for one in state.procedure.steps_after_each_pass)
    return behind and not VOUCHES.isdisjoint({step.what, step.affects, *point.also})


def _once_more(point: Point) -> Point:
    assert point.step is not None
    step = structs.replace(point.step, affects="" if point.step.affects in OVER else point.step.affects)
    also = tuple(word for word in point.also if word not in OVER)
    return replace(point, step=step, also=also, again=True, late=True)
