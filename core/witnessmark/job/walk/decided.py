"""What a person decided on a pass that was not right: it is done again, or what was done is accepted.

A job's state flows in, the state it goes on from flows out. Rule that holds here: what is asked again because the job
lay stands in the walk before the pass goes on; it is neither passed over with the pass nor put off behind an opening.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import takewhile

from witnessmark.job.fluid import bottle
from witnessmark.job.walk.state import NOT_CLEAR, NOT_OPEN, JobState
from witnessmark.job.walk.steps import BOTTLE, Point, is_bottle, once_more, vouches
from witnessmark.journal import bodies


def next_of_a_pass(state: JobState) -> int | None:
    """Return the index of the next point that belongs to a pass, behind whatever is asked again before it."""
    ahead = range(state.cursor, len(state.points))
    return next((at for at in ahead if state.points[at].pass_id and not state.points[at].again), None)


def missed(state: JobState, body: bodies.StepDone) -> JobState:
    """Have a pass decided on of which a nipple was not opened while it ran, whatever is asked at its closing."""
    if _still_to_run(state, body.pass_id):
        return state
    missed = state.missed | {(body.pass_id, body.nipple)}
    return replace(state, decide=body.pass_id, done_not_right=NOT_OPEN, missed=missed)


def _still_to_run(state: JobState, pass_id: str) -> bool:
    """Whether the run of a pass is still the next thing: the last one never began."""
    at = next_of_a_pass(state)
    return at is not None and (state.points[at].kind, state.points[at].pass_id) == ("run", pass_id) and not state.decide


def accepted(state: JobState, pass_id: str) -> JobState:
    """Return the state in which the point of the pass that was to be decided on is passed over.

    With it goes the closing of nipples that were shut at once, when the run did not complete, and of those that were
    never opened; where that is all that was to be decided on, nothing else is passed over. Nothing at all is for a run
    that was made once more behind its point: what is to be done at the nipple is still to be done. So is what the touch
    says besides that said that the fluid did not run clear: how the nipple was left.
    """
    at = next_of_a_pass(state)
    never, of_a_run = state.done_not_right == NOT_OPEN, not state.done_not_right
    unclear = state.done_not_right == NOT_CLEAR
    ahead_of_it = state.ran_ahead == pass_id
    state = replace(state, decide="", done_not_right="", ran_ahead="" if ahead_of_it else state.ran_ahead)
    if at is None or state.points[at].pass_id != pass_id:
        return state
    if ahead_of_it:
        return _without_opening(state, pass_id)
    points, end = state.points, at
    if of_a_run and points[at].kind != "run":  # one made once more, behind that which counts
        return state
    if not never or points[at].kind == "run":
        end = at + 1
        while end < len(points) and _shut_already(state, points[end]):
            end += 1
    rest = points[end:]
    shut = tuple(one for one in rest if one.closes and (one.pass_id, one.nipple) in state.missed)
    passed = (*points[at:end], *shut)
    left = tuple(once_more(one) for one in points[at:end] if unclear and vouches(one))
    ahead = (*points[state.cursor : at], *left, *(one for one in rest if one not in shut))
    return replace(state, points=(*points[: state.cursor], *passed, *ahead), cursor=state.cursor + len(passed))


def _without_opening(state: JobState, pass_id: str) -> JobState:
    """Pass over opening, run and closing of a pass whose run was made with its nipple shut, and is accepted so."""
    one, ahead = state.pass_of(pass_id), state.points[state.cursor :]
    shut = [] if one is None else [name for name in one.nipples if name not in state.open_nipples]
    over = tuple(
        point
        for point in ahead
        if point.pass_id == pass_id and (point.kind in ("open", "run") or (point.closes and point.nipple in shut))
    )
    rest = tuple(point for point in ahead if point not in over)
    missed = state.missed | {(pass_id, name) for name in shut}
    points = (*state.points[: state.cursor], *over, *rest)
    return replace(state, points=points, cursor=state.cursor + len(over), missed=missed)


def _shut_already(state: JobState, point: Point) -> bool:
    was_open = (point.pass_id, point.nipple) in state.was_open
    return point.kind == "close" and was_open and point.nipple not in state.open_nipples


def done_again(state: JobState, pass_id: str) -> JobState:
    """Return the state at the beginning of the pass; what is still to be asked again comes first, once.

    With it comes what is said again of how another pass left its nipple: what this one reads would grow old meanwhile.
    A pass that was walked more than once begins where it was begun last.
    """
    done = [one for one in state.points[: state.cursor] if not one.again]
    ahead = [one for one in state.points[state.cursor :] if not one.again or (one.late and one.pass_id != pass_id)]
    first = _begun_last(done, pass_id)
    asked = next((at for at, one in enumerate(ahead) if not asked_again(state, one)), len(ahead))
    late = [*takewhile(lambda one: one.late, ahead[asked:])]
    anew_ahead = each_once((*_of_the_walk(state, done[first:]), *ahead[asked + len(late) :]))
    points = (*done[:first], *ahead[:asked], *late, *anew_ahead)
    was_open, missed = (frozenset(one for one in many if one[0] != pass_id) for many in (state.was_open, state.missed))
    anew = replace(state, points=points, cursor=first, was_open=was_open, missed=missed, ran_ahead="")
    ran_out = any(one == pass_id for one, _ in state.was_open) and _asks_for_its_bottle(state)
    one = state.pass_of(pass_id)
    filling = frozenset({pass_id, one.bottle_with if one is not None else ""} - {""})
    anew = replace(anew, tank=anew.tank.unread(filling)) if ran_out else anew
    anew = replace(anew, readings=tuple(one for one in anew.readings if (one[0], one[1].pass_id) != (BOTTLE, pass_id)))
    return replace(anew, decide="", done_not_right="", why_due=False)


def _begun_last(done: Sequence[Point], pass_id: str) -> int:
    """Return the index at which a pass was begun last, the end where it was not; what is of no pass may lie in it."""
    own = [at for at, one in enumerate(done) if one.pass_id == pass_id]
    if not own:
        return len(done)
    others = [at for at, one in enumerate(done[: own[-1]]) if one.pass_id not in ("", pass_id)]
    return next(at for at in own if not others or at > others[-1])


def each_once(points: Iterable[Point]) -> tuple[Point, ...]:
    """Return points with each of a pass once: a nipple closed early was opened again, which is no second opening."""
    found: dict[Point | int, Point] = {}
    for at, one in enumerate(points):
        found.setdefault(one if one.pass_id else at, one)
    return tuple(found.values())


def _asks_for_its_bottle(state: JobState) -> bool:
    """Whether how much the attempt took is still to be read: what is done again before that takes as much once more.

    Of a reservoir of which nothing is known nothing is asked.
    """
    read = bottle.refused(state, state.point)
    return state.tank.holds_ml is not None and not read and any(is_bottle(one) for one in state.points[state.cursor :])


def _of_the_walk(state: JobState, points: Sequence[Point]) -> list[Point]:
    return [one for one in points if not asked_again(state, one)]


def asked_again(state: JobState, point: Point) -> bool:
    """Whether a point that stands within the passes or behind is a step of before them, or before one, asked again."""
    own = state.procedure
    return not point.pass_id and point.step in (*own.steps_before, *own.steps_before_each_pass)
