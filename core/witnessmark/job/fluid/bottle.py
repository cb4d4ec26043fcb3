"""A bottle that holds too little, or that nobody read: its pass is done again right there (`anew`).

A job's state flows in; what a reading of a bottle is judged by, and the state after it flow out. Rules that hold here:
what ran at a pass counts together, whatever was read of it before and not misread, and no bottle of it may hold more
than the most; more runs only once its nipple was opened again, so that a bottle outside its limits is read anew only
where it was misread; a bottle that was not read is offered to be run anew until something else is done.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from witnessmark.job.amount import within
from witnessmark.job.fluid.tank import PER_UNIT
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import BOTTLE, Point, is_bottle
from witnessmark.procedure.model import Limit
from witnessmark.quantity import Quantity


def inside(state: JobState, what: str, pass_id: str, value: Quantity, limit: Limit | None) -> bool | None:
    """Judge a reading: of a bottle its least with all that was read of its pass before, its most by itself."""
    before_ml = dict(state.tank.taken).get(pass_id)
    if limit is None or what != BOTTLE or not before_ml or value.unit not in PER_UNIT:
        return within(value, limit)
    all_of_it = Quantity(f"{value.number + before_ml / PER_UNIT[value.unit]:f}", value.unit)
    ends = ((all_of_it, Limit(low=limit.low)), (value, Limit(high=limit.high)))
    return all(within(one, end) is not False for one, end in ends)


def refused(state: JobState, point: Point | None) -> bool:
    """Whether a point is a bottle that was read outside its limits, and of which nobody said that it was misread."""
    if point is None or not is_bottle(point) or point.step is None or state.put_right == point.step.id:
        return False
    last = state.reading(BOTTLE)
    return last is not None and last.within is False and (last.pass_id, last.nipple) == (point.pass_id, point.nipple)


def too_little(state: JobState, point: Point) -> bool:
    """Whether what was read of a pass is below its limits: more may run."""
    last, limit = state.reading(BOTTLE), point.limit
    if last is None or limit is None or not limit.low or not refused(state, point):
        return False
    unit = limit.low.rpartition(" ")[2]
    all_ml = dict(state.tank.taken).get(point.pass_id, Decimal(0))
    return unit in PER_UNIT and within(Quantity(f"{all_ml / PER_UNIT[unit]:f}", unit), Limit(low=limit.low)) is False


def said(state: JobState, point: Point) -> str:
    """Say how a bottle outside its limits stands to them, and what can be done."""
    last, limit = state.reading(BOTTLE), point.limit
    assert last is not None and limit is not None
    read = f"{last.amount.value} {last.amount.unit}"
    all_ml = dict(state.tank.taken).get(point.pass_id)
    sum_ml = "" if all_ml is None else f"{all_ml.normalize():f} mL"
    whole = f", {sum_ml} with what was read of this pass before" if sum_ml not in ("", read) else ""
    asked = " to ".join(one for one in (limit.low, limit.high) if one)
    more = (
        " For more to run do the pass again: both count, and are judged together." if too_little(state, point) else ""
    )
    return f"It was {read}{whole}, outside the limits ({asked}), and counts unless it was misread.{more}"


def before(state: JobState, point: Point) -> str:
    """Say how much was read of a pass before, where its bottle is read: it counts together."""
    ml = dict(state.tank.taken).get(point.pass_id)
    if not is_bottle(point) or not ml or point.limit is None:
        return ""
    return f"{ml.normalize():f} mL were read of this pass before: both count, and are judged together."


def noted(state: JobState, after: JobState) -> JobState:
    """Return the state after an entry; once something else than that pass is gone on with it is offered no more."""
    point = state.point
    on = after.cursor != state.cursor and (point is None or point.pass_id != state.spilled)
    return replace(after, spilled="") if on and state.spilled and after.spilled == state.spilled else after
