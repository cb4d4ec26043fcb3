"""Passes of which a card says that they did not run clear, or leaves it empty: each is decided on, as after that key.

A job's state and an entry flow in, the state after it flows out. Rules that hold here: the card is keyed in to its end
before; what is said of one nipple says nothing of another; what is said to have run clear later is decided; a pass that
is done again is done where the job stands, once the pass in hand is through, and what was done behind the last pass is
asked again after it; what is asked again because the job lay comes before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from witnessmark.job.fluid import feed
from witnessmark.job.walk import decided, made_safe
from witnessmark.job.walk.state import NOT_CLEAR, UNCLEAR, UNWRITTEN, JobState
from witnessmark.job.walk.steps import Point, is_bottle, visit
from witnessmark.journal import bodies

SILENT = "the card does not say whether the fluid ran clear"

At = tuple[str, str]


def note(state: JobState, body: bodies.StepDone | bodies.Reading) -> JobState:
    """Take note of what an entry says of how a nipple of a pass ran."""
    at = (body.pass_id, body.nipple)
    if isinstance(body, bodies.StepDone) and body.act == "skipped":
        says = state.word(body) == UNCLEAR and body.looked
        return replace(_said(state, at), unclear=(*_without(state.unclear, at), at)) if says else state
    if "clear" in (body.affects, *body.also):
        return _said(state, at)
    return replace(state, unsaid=(*_without(state.unsaid, at), at)) if _leaves_empty(state, body) else state


def _leaves_empty(state: JobState, body: bodies.StepDone | bodies.Reading) -> bool:
    """Whether an entry is what a point asked for that also asks how it ran, and says nothing of that.

    Where it is only read once more, outside its limits before, the first says it.
    """
    point = state.point
    if point is None or point.step is None or "clear" not in (point.step.affects, *point.also):
        return False
    said = body.answer if isinstance(body, bodies.StepDone) and body.step == UNWRITTEN else body.step
    here = (said, body.pass_id, body.nipple) == (point.step.id, point.pass_id, point.nipple)
    return here and not _read_before(state, point)


def _read_before(state: JobState, point: Point) -> bool:
    last = state.reading(point.step.what or point.step.id) if point.step is not None else None
    return last is not None and last.within is False and (last.pass_id, last.nipple) == (point.pass_id, point.nipple)


def _said(state: JobState, at: At) -> JobState:
    return replace(state, unclear=_without(state.unclear, at), unsaid=_without(state.unsaid, at))


def _without(places: tuple[At, ...], at: At) -> tuple[At, ...]:
    return tuple(one for one in places if one != at)


def settled(state: JobState, pass_id: str) -> JobState:
    """Return the state after a pass was decided on."""
    unclear, unsaid = (tuple(one for one in many if one[0] != pass_id) for many in (state.unclear, state.unsaid))
    return replace(state, unclear=unclear, unsaid=unsaid)


def undecided(state: JobState) -> dict[str, str]:
    """Return the passes that are still to be decided on for what a card says of them, each with why."""
    silent, seen = ({one for one, _ in many} for many in (state.unsaid, state.unclear))
    whys = {**dict.fromkeys(silent, SILENT), **dict.fromkeys(seen, NOT_CLEAR)}
    return {one.id: whys[one.id] for one in state.plan if one.id in whys}


def to_decide(state: JobState) -> JobState | None:
    """Return the state as it is shown while such a pass is decided on; None where none is, or a nipple stands open."""
    due = undecided(state)
    if not due or state.open_nipples or state.decide:
        return None
    pass_id = next(iter(due))
    return replace(state, decide=pass_id, done_not_right=due[pass_id])


def done_again(state: JobState, pass_id: str) -> JobState:
    """Return the state in which a pass is done again: the one in hand from its beginning, an earlier one after that."""
    done = [one for one in state.points[: state.cursor] if not one.again]
    last = max((at for at, one in enumerate(done) if one.pass_id), default=-1)
    here = state.point.pass_id if state.point is not None else ""
    if pass_id in (here, done[last].pass_id if last >= 0 and last == len(done) - 1 else ""):
        return decided.done_again(state, pass_id)
    again = _with_its_bottle(state, pass_id, decided.each_once(one for one in done if one.pass_id == pass_id))
    ahead = [one for one in state.points[state.cursor :] if not (one.mends or (one.late and one.pass_id == pass_id))]
    if any(one.pass_id and not one.late for one in ahead):
        own = done[last].pass_id if last >= 0 else ""
        through = next((at for at, one in enumerate(ahead) if one.pass_id != own and not one.again), len(ahead))
        state = replace(state, points=(*done, *ahead[:through], *again, *ahead[through:]), cursor=len(done))
    else:
        state = behind_the_last(replace(state, points=(*done, *ahead), cursor=len(done)), again)
    was_open, missed = (frozenset(one for one in many if one[0] != pass_id) for many in (state.was_open, state.missed))
    return feed.put_on_again(replace(state, was_open=was_open, missed=missed))


def _with_its_bottle(state: JobState, pass_id: str, points: Sequence[Point]) -> tuple[Point, ...]:
    """Return the points of a pass with the reading of its bottle, also where it was read with that of the next."""
    one = state.pass_of(pass_id)
    own = tuple(visit(state.procedure, one)) if one is not None else ()
    return (
        tuple(point for point in own if point in points or is_bottle(point)) if set(points) <= set(own) else (*points,)
    )


def behind_the_last(state: JobState, again: Sequence[Point]) -> JobState:
    """Return the state with a pass ahead again, and behind it what was done behind the last one, in its order."""
    state = made_safe.ahead_again(state, [one for one in state.points[: state.cursor] if made_safe.is_last(state, one)])
    done, ahead = state.points[: state.cursor], state.points[state.cursor :]
    first = next((at for at, one in enumerate(ahead) if not decided.asked_again(state, one)), len(ahead))
    return replace(state, points=(*done, *ahead[:first], *again, *ahead[first:]))
