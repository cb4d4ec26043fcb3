"""The views of the reservoir before a pass: its level is looked at, and what is done when it drew air.

The job's state flows in, one view flows out. Rules that hold here: the level is asked before the pressure is read and
a nipple opened, where `tank` says that it must be seen, or it was recorded empty; one key says that it was filled up,
one that it ran empty; then every pass that was begun is done again (common practice, no source).
"""

from __future__ import annotations

from msgspec.structs import replace

from witnessmark.job.plausible import bounds
from witnessmark.job.reasons import AIR
from witnessmark.job.screens.step_view import nipple_view
from witnessmark.job.standing import named
from witnessmark.job.state import LEVEL_LOOK, JobState
from witnessmark.job.tank import LEVEL
from witnessmark.job.view import Button, View, title

FULL = Button("f", "it is filled up to its mark")
DRAWN = Button("e", "it ran EMPTY, or air was drawn")


def must_look(state: JobState) -> str:
    """Return why the reservoir is looked at now, empty where it need not be: only before a pass."""
    point = state.point
    if point is None or not point.pass_id or point.again:
        return ""
    if not any(one.pass_id == point.pass_id and one.kind in ("open", "run") for one in state.points[state.cursor :]):
        return ""
    empty = "it was recorded empty" if state.reservoir_empty else ""
    old = "" if state.open_nipples else state.tank.old(state.last_wall_ns)
    return empty or state.tank.unsure or old


def level_view(state: JobState, why: str) -> View:
    """Return the view that asks for the level; its unit is the procedure's, where that reads a level at all."""
    pass_id = state.point.pass_id if state.point is not None else ""
    steps = (*state.procedure.steps_before, *state.procedure.steps_after)
    unit = next((step.unit for step in steps if step.what == LEVEL and step.unit), "")
    asked = "Read its level." if unit else "Does it stand well above where it draws air?"
    text = f"Look at the reservoir first: {why}. {asked}"
    view = View(kind="step", title=title(state, pass_id), text=text, pass_id=pass_id, step=LEVEL_LOOK)
    if state.reservoir_empty or (state.tank.unsure and not state.tank.doubt):
        text = f"Fill the reservoir: {why}."
        return replace(view, text=text, buttons=(FULL, DRAWN))
    if not unit:
        return replace(view, buttons=(Button("y", "yes"), FULL, DRAWN))
    least, most = bounds(LEVEL, unit)
    return replace(view, kind="reading", what=LEVEL, unit=unit, least=least, most=most, buttons=(FULL, DRAWN))


def air_view(state: JobState) -> View:
    """Return the view after the reservoir ran empty; a nipple that stands open is closed first."""
    if state.open_nipples:
        nipple = state.open_nipples[0]
        view = nipple_view(state, state.pass_of(state.opened_at(nipple)), nipple, "close")
        return replace(view, text=f"The reservoir ran empty. Close the nipple {named(state, nipple)} now.")
    done = ", ".join(state.begun)
    return View(
        kind="decide",
        title=state.procedure.title,
        text=f"The reservoir ran empty: air may be in every line. Fill it; then what was begun is done again: {done}.",
        buttons=(Button("r", "do these passes again"), Button("k", "go on without, and why", asks=True, reasons=AIR)),
    )
