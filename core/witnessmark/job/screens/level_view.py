"""The views of the reservoir before a pass: its level is looked at, and what is done when it drew air.

The job's state flows in, one view flows out. Rules that hold here: the level is asked before the pressure is read and
a nipple opened, where `tank` says that it must be seen, or it was recorded empty; one key says that it was filled up,
and stands there only once the feed was let off, as does any step for which the lid comes off; one says that it ran
empty, then every pass that was begun is done again (common practice, no source).
"""

from __future__ import annotations

from msgspec.structs import replace

from witnessmark.job.fluid import feed
from witnessmark.job.fluid.tank import LEVEL
from witnessmark.job.plausible import bounds
from witnessmark.job.reasons import AIR
from witnessmark.job.screens.step_view import nipple_view
from witnessmark.job.view import Button, View, title
from witnessmark.job.walk.slip import NOT_EMPTY
from witnessmark.job.walk.standing import named
from witnessmark.job.walk.state import LEVEL_LOOK, OFF_TO_FILL, JobState
from witnessmark.job.walk.steps import Point

OFF = Button("o", "the feed's pressure is let off")
FIRST = "The feed's pressure is ON. Let it off before the lid comes off: fluid sprays out."
FULL = Button("f", "it is filled up to its mark")
DRAWN = Button("e", "it ran EMPTY, or air was drawn")


def must_look(state: JobState) -> str:
    """Return why the reservoir is looked at now, empty where it need not be: only before a pass."""
    point = feed.next_work(state)
    if point is None or point.again or not feed.begins(state, state.points.index(point, state.cursor)):
        return ""
    empty = "it was recorded empty" if state.reservoir_empty else ""
    old = "" if state.open_nipples else state.tank.old(state.last_wall_ns)
    return empty or state.tank.unsure or old


def level_view(state: JobState, why: str) -> View:
    """Return the view that asks for the level; its unit is the procedure's, where that reads a level at all."""
    point = feed.next_work(state)
    pass_id = point.pass_id if point is not None else ""
    steps = (*state.procedure.steps_before, *state.procedure.steps_after)
    unit = next((step.unit for step in steps if step.what == LEVEL and step.unit), "")
    asked = "Read its level." if unit else "Does it stand well above where it draws air?"
    text = f"Look at the reservoir first: {why}. {asked}"
    view = View(kind="step", title=title(state, pass_id), text=text, pass_id=pass_id, step=LEVEL_LOOK)
    fills = (OFF,) if state.pressurised else (FULL,)
    if state.reservoir_empty or (state.tank.unsure and not state.tank.doubt):
        if state.open_nipples and state.pressurised:
            return _close_view(state, f"The reservoir is to be filled: {why}.")
        first = f"{FIRST} Then fill" if state.pressurised else "Fill"
        return replace(view, text=f"{first} the reservoir: {why}.", buttons=(*fills, DRAWN))
    if state.pressurised:
        view = replace(view, text=f"{text} To fill it, let the feed's pressure off first: fluid sprays out.")
    if not unit:
        return replace(view, buttons=(Button("y", "yes"), *fills, DRAWN))
    least, most = bounds(LEVEL, unit)
    most = state.tank.most(LEVEL, unit, most)
    return replace(view, kind="reading", what=LEVEL, unit=unit, least=least, most=most, buttons=(*fills, DRAWN))


def lid_view(state: JobState, point: Point, then: str) -> View:
    """Return the view that has every nipple shut and the feed let off before its lid comes off; `then` is what for."""
    if state.open_nipples:
        return _close_view(state, "The feed's pressure is ON, and its lid is to come off.")
    text, where = f"{FIRST} Then: {then}", title(state, point.pass_id, point.nipple)
    return View(kind="step", title=where, text=text, pass_id=point.pass_id, step=OFF_TO_FILL, buttons=(OFF,))


def air_view(state: JobState) -> View:
    """Return the view after the reservoir ran empty; a nipple that stands open is closed first."""
    if state.open_nipples:
        return _close_view(state, "The reservoir ran empty.")
    if state.pressurised:
        text = f"The reservoir ran empty: air may be in every line. {FIRST} Then say what is done again, and fill it."
        return View(kind="decide", title=state.procedure.title, text=text, buttons=(OFF, NOT_EMPTY))
    done = ", ".join(state.begun)
    return View(
        kind="decide",
        title=state.procedure.title,
        text=f"The reservoir ran empty: air may be in every line. Fill it; then what was begun is done again: {done}.",
        buttons=(
            Button("r", "do these passes again"),
            Button("k", "go on without, and why", asks=True, reasons=AIR),
            NOT_EMPTY,
        ),
    )


def _close_view(state: JobState, why: str) -> View:
    """Return the view that has a nipple closed before anything is done at the reservoir."""
    nipple = state.open_nipples[0]
    view = nipple_view(state, state.pass_of(state.opened_at(nipple)), nipple, "close")
    return replace(view, text=f"{why} Close the nipple {named(state, nipple)} now.")
