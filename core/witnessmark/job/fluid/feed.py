"""The feed's pressure around a filling: let off before the lid comes off, and put on and read again before a pass.

A job's state flows in, points and states flow out. Rules that hold here: once the feed was let off to fill, the steps
that fit its lid and put it under pressure are asked again before the next pass, and the pressure that this pass had
read already; where no step puts it under pressure nothing is asked. They come behind the last step before the next
opening for which the lid comes off: the lid never comes off under pressure, whatever it comes off for, nor is it fitted
under it, as fluid sprays out (common practice, no source).
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.job.fluid.tank import DRAWN, FILLED, REMOVED
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import PRESSURE, Point

LID_OFF, READ_LID_OFF = {"empty", "refill", "level-set"}, {REMOVED, FILLED, DRAWN}
"""What a step affects or reads for which the lid comes off; a level is read through the wall, or is asked for first."""
LETS_OFF = {"depressurise", "feed-off"}


def takes_lid_off(point: Point) -> bool:
    """Whether the lid comes off for a point."""
    step = point.step
    return step is not None and (step.what in READ_LID_OFF or not LID_OFF.isdisjoint({step.affects, *step.also}))


def sprays(state: JobState, point: Point) -> bool:
    """Whether a point has the lid taken off while the feed's pressure is on, and does not let it off itself."""
    step = point.step
    if step is None or not state.pressurised:
        return False
    return (takes_lid_off(point) or _fits_lid(point)) and LETS_OFF.isdisjoint({step.affects, *step.also})


def _fits_lid(point: Point) -> bool:
    """Whether the feed's lid is fitted at a point: with its pressure on it is not there to be fitted."""
    return point.step is not None and "feed-on" in (point.step.affects, *point.step.also)


def _feeds(point: Point) -> bool:
    """Whether a point fits the feed's lid or puts it under pressure."""
    return _fits_lid(point) or puts_on(point)


def puts_on(point: Point) -> bool:
    """Whether a point puts the feed under pressure."""
    return point.step is not None and "pressurise" in (point.step.affects, *point.step.also)


def is_before_work(point: Point) -> bool:
    """Whether a point puts the feed under pressure outside a pass, or reads it once more."""
    return (_feeds(point) and (point.again or not point.pass_id)) or _reads_again(point)


def _reads(point: Point) -> bool:
    """Whether a point reads the feed's pressure."""
    return point.step is not None and point.step.what == PRESSURE


def _reads_again(point: Point) -> bool:
    """Whether a point reads the feed's pressure once more."""
    return point.again and _reads(point)


def next_work(state: JobState) -> Point | None:
    """Return the next point, behind what puts the feed under pressure; None when there is none."""
    return next((one for one in state.points[state.cursor :] if not is_before_work(one)), None)


def begins(state: JobState, at: int) -> bool:
    """Whether the point there is one of a pass that still has something to open or to run."""
    pass_id = state.points[at].pass_id
    return bool(pass_id) and any(one.pass_id == pass_id and one.kind in ("open", "run") for one in state.points[at:])


def put_on_again(state: JobState) -> JobState:
    """Return the state in which the feed, let off, is put under pressure and read again before the next pass."""
    at = _next_begun(state)
    if at is None or state.pressurised:
        return state
    first, end = state.points[at], _next_opened(state, at)
    ahead = [one for one in state.points[state.cursor : end] if not _reads_again(one)]
    put = [index for index, one in enumerate(ahead) if puts_on(one)]
    done = [one for one in state.points[: state.cursor] if one.pass_id in ("", first.pass_id)]
    asked = [one for one in done if puts_on(one)][-1:]
    if asked and not _fits_lid(asked[0]):  # its lid is fitted at a step of its own
        asked = [*[one for one in done if _fits_lid(one) and not puts_on(one)][-1:], *asked]
    if not put and not asked:
        return state
    read = read_before(state)
    again = [
        replace(one, again=bool(one.pass_id))
        for one in (*([] if put else asked), *([read] if read is not None else []))
    ]
    place = max([ahead.index(first) if at < end else len(ahead), *(index + 1 for index in put)])
    points = (*state.points[: state.cursor], *ahead[:place], *again, *ahead[place:], *state.points[end:])
    return behind_the_lid(replace(state, points=points))


def behind_the_lid(state: JobState) -> JobState:
    """Return the state in which the feed, let off, is put on and read behind the last lid step before an opening."""
    at = _next_begun(state)
    if at is None or state.pressurised:
        return state
    end = _next_opened(state, at)
    off = max((index for index in range(state.cursor, end) if takes_lid_off(state.points[index])), default=state.cursor)
    before = state.points[state.cursor : off]
    fed = [one for one in before if (_feeds(one) or _reads(one)) and not takes_lid_off(one)]
    rest = [one for one in before if one not in fed]
    done, lid, left = state.points[: state.cursor], state.points[off : off + 1], state.points[off + 1 :]
    return replace(state, points=(*done, *rest, *lid, *fed, *left))


def read_before(state: JobState) -> Point | None:
    """Return the point by which the pass that is next has read its pressure; None where it is still to read it."""
    at = _next_begun(state)
    if at is None:
        return None
    here = state.points[at].pass_id
    done, ahead = (
        [one for one in many if one.pass_id == here and _reads(one)]
        for many in (state.points[: state.cursor], state.points[state.cursor :])
    )
    return None if not done or any(not one.again for one in ahead) else done[-1]


def _next_begun(state: JobState) -> int | None:
    """Return the index of the next point of a pass that still has something to open or to run."""
    ahead = range(state.cursor, len(state.points))
    return next((index for index in ahead if not state.points[index].again and begins(state, index)), None)


def _next_opened(state: JobState, at: int) -> int:
    """Return the index of the next point from there that opens a nipple or runs: one is ahead where a pass begins."""
    return next(index for index in range(at, len(state.points)) if state.points[index].kind in ("open", "run"))


def must_be(state: JobState, point: Point) -> bool:
    """Whether a point that is done again is the feed's, which stands without pressure or without a reading of it."""
    read = _reads(point) and state.reading(PRESSURE) is None
    return read or (_feeds(point) and not state.pressurised)
