"""A pass that is done again right there, with one key: for its bottle, or as the record does not show its nipple open.

A job's state flows in; the view with that key, and the entry by which it is done again, flow out. Rules that hold here:
it is offered only with every nipple shut; where touches stood too near together the screen says so as soon as that is
known, and how far apart they are to be; nobody is asked to wait with a nipple that is closed now, or may draw air.
"""

from __future__ import annotations

import msgspec

from witnessmark.job.amiss import shown_open
from witnessmark.job.amount import seconds
from witnessmark.job.fluid import bottle, feed
from witnessmark.job.view import BLEED_AGAIN, Button, View
from witnessmark.job.walk.standing import named
from witnessmark.job.walk.state import REDO, JobState
from witnessmark.journal import bodies
from witnessmark.procedure.model import Pass, Procedure

SAME = "s"
"""The key by which that pass is done again."""
TOO_LITTLE, NOT_READ = "too little was in its bottle", "its bottle was not read"
NOT_SHOWN = "the record does not show its nipple open while it ran"
KINDS = ("step", "reading", "open", "arm", "tell")
CLOSES = ("step", "reading", "close")
OPENS = {"with": "open it as it starts, and ", "after": "open it right after its start, and "}
"""What is said of opening a nipple that opens once the run has begun, where the pass is to be done again."""


def offered(state: JobState) -> tuple[str, str]:
    """Return the pass that may be done again right there, and why; empty where none may."""
    point = state.point
    if state.status != "open" or state.surely_open or state.decide or state.air or state.open_intent is not None:
        return "", ""
    if point is not None and bottle.too_little(state, point):
        return point.pass_id, TOO_LITTLE
    if state.spilled:
        return state.spilled, NOT_READ
    here = shown_open.in_hand(state)
    return (here[0].id, NOT_SHOWN) if here is not None and shown_open.can_show(state.procedure, here[0]) else ("", "")


def beside(state: JobState, view: View) -> View:
    """Return the view with the key by which that pass is done again, where it is offered, and why it should be."""
    if shown_open.of_mend(state) and any(one.key == BLEED_AGAIN for one in view.buttons):
        return view  # it says so itself, and has it bled again
    view = _told(state, view)
    pass_id, why = offered(state)
    if not pass_id or view.kind not in KINDS or not (view.buttons or view.kind in ("arm", "reading")):
        return view
    then = "its nipple is opened once more" if why == TOO_LITTLE else why
    return msgspec.structs.replace(view, buttons=(*view.buttons, Button(SAME, f"do {pass_id} again: {then}")))


def redo(state: JobState) -> bodies.StepDone:
    """Return the entry by which that pass is done again."""
    pass_id, why = offered(state)
    return bodies.StepDone(step=REDO, act="done", pass_id=pass_id, said=why)


def apart(procedure: Procedure, one: Pass) -> dict[str, str]:
    """Return how far apart touches are to be for the record to show a nipple open while it runs, as it is shown."""
    if not shown_open.can_show(procedure, one):
        return {}
    least_s = shown_open.apart_s(procedure)
    return {f"Leave {least_s} s": f"{_between(one, least_s)}, or there is no proof that it was open"}


def _between(one: Pass, least_s: int) -> str:
    """Return between which touches of a pass so much time is to be left: never more than it lets pass."""
    early = one.order == "before" and one.order_tolerance and seconds(one.order_tolerance) >= least_s
    return f"{'from opening to start and ' if early else ''}from end to closing"


def _told(state: JobState, view: View) -> View:
    """Return the view with what the record does not show of the pass in hand, or how that is kept from being so."""
    here = shown_open.in_hand(state)
    if here is not None and view.kind in (*KINDS, "close"):
        return msgspec.structs.replace(view, text=f"{view.text}\n{_not_shown(state, *here)}")
    point = state.point
    run = state.runs[-1] if state.runs else None
    if point is None or run is None or run.grade != "told" or run.pass_id != point.pass_id or not point.closes:
        return view
    one = state.pass_of(point.pass_id)
    if one is None or point.nipple not in state.open_nipples or view.kind not in CLOSES or state.decide:
        return view
    if _runs_dry(state) or f"Close the nipple {named(state, point.nipple)} now" in view.text:
        return view
    return msgspec.structs.replace(view, shown=view.shown | apart(state.procedure, one))


def _runs_dry(state: JobState) -> bool:
    """Whether an open nipple may draw air: the reservoir is, or may be, empty, or the feed's pressure is not on."""
    left_ml = state.tank.left_ml
    empty = state.air or state.reservoir_empty or (left_ml is not None and left_ml <= 0)
    return empty or (not state.pressurised and any(feed.puts_on(point) for point in state.points))


def _not_shown(state: JobState, one: Pass, nipple: str) -> str:
    """Say that the record does not show a nipple open for as much of the run as is asked, why, and what then."""
    why = shown_open.why_not(state, one, nipple)
    said = f"The record does not show {named(state, nipple)} open for {one.overlap} of the run: {why}."
    if not shown_open.can_show(state.procedure, one):
        return f"{said} To do it again so shows no more."
    then = "Close it, then do" if state.surely_open else "Do"
    least_s = shown_open.apart_s(state.procedure)
    return f"{said} {then} {one.id} again: {OPENS.get(one.order, '')}leave {least_s} s {_between(one, least_s)}."
