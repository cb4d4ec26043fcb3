"""A nipple that is closed after what vouches for it was said: that is said again, and what puts the vehicle back.

A job's state flows in as a nipple is closed, the state it goes on from flows out. Rules that hold here: what was said
of a nipple before it was closed, and what was put back and checked behind the passes, cannot vouch for it; how it ran
is not asked again, for nobody sees that any more; what is asked so is not put off. In a walk that goes its way nothing
of it was said yet.
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.job.walk import decided, made_safe
from witnessmark.job.walk.standing import named
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import OVER, Point, of_no_pass, once_more, vouches

SAYS = "This counts once it is said of the nipple as it is shut now."
ASKS = {
    "torque": "read its torque",
    "torqued": "see that it is tightened as asked",
    "capped": "see that its cap is on",
}
"""What is asked of a nipple once more, by the procedure's words, where its step asks besides for what is over."""


def after(state: JobState, nipple: str) -> JobState:
    """Return the state after a nipple that stood open, or may have, was closed."""
    own = [once_more(one) for one in _of_last_visit(state, nipple) if _vouches(state, one, nipple)]
    return _ahead(made_safe.put_back(state), own)


def tightened(state: JobState, nipple: str) -> JobState:
    """Return the state after a nipple that is shut was tightened: how it was left is said again, and nothing else.

    Of one that no pass of the job opens it is said of no pass.
    """
    own = [once_more(one) for one in _of_last_visit(state, nipple) if _vouches(state, one, nipple)]
    if not any(nipple in one.nipples for one in state.plan):
        own = [once_more(one) for one in of_no_pass(state.procedure, nipple) if vouches(one)]
    return _ahead(state, own)


def text(state: JobState, point: Point, asked: str) -> str:
    """Return the text of a point that is asked again of a nipple as it is shut now, without what is over."""
    step = point.step
    if not point.late or step is None:
        return asked
    if OVER.isdisjoint(step.also):
        return f"{SAYS} {asked}"
    says = (step.what, step.affects, *point.also)
    acts = [act for word, act in ASKS.items() if word in says and (word != "torqued" or "torque" not in says)]
    return f"{SAYS} At {named(state, point.nipple)}: {' and '.join(acts)}."


def _ahead(state: JobState, own: list[Point]) -> JobState:
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
    if point.step is None or point.nipple not in ("", nipple):
        return False
    return vouches(point) and any(one.id == point.step.id for one in state.procedure.steps_after_each_pass)
