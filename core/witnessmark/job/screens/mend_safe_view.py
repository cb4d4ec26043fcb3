"""The views of a mend for which the vehicle is made safe, or was not: the job's state flows in, one view flows out."""

from __future__ import annotations

from msgspec.structs import replace as changed

from witnessmark.job.amiss import bleeding, mend_safe, not_right
from witnessmark.job.screens.step_view import step_view
from witnessmark.job.view import BLEED_AGAIN, Button, View
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import Point
from witnessmark.procedure.own import WAS_SAFE

SAFE_KEY = "a"
"""The key of a check that was not right by which the vehicle is made safe first."""
MENDS = ("w", BLEED_AGAIN)


def beside(state: JobState, view: View) -> View:
    """Return the view of a check that was not right with the key that makes it safe to mend, where that was undone."""
    point = state.point
    step = point.step if point is not None and view.kind == "step" else None
    if step is None or view.step != step.id or not not_right.must_say(state, step.id) or not mend_safe.due(state):
        return view
    return changed(view, buttons=(Button(SAFE_KEY, "make it safe first, then mend it"), *view.buttons))


def mend_here_view(state: JobState, point: Point) -> View:
    """Return the view of where it is mended: what is said there is what was mended, and nothing of the check itself."""
    shown = step_view(state, point)
    text = "It is made safe: mend it now, then say what was mended. What puts it back comes after that, then the check."
    if state.to_bleed and not not_right.must_say(state, shown.step):
        text = f"It is said what was mended: bleed it now, while it is safe.{bleeding.to_bleed(state)}"
    buttons = tuple(one for one in shown.buttons if one.key in MENDS)
    return changed(shown, text=text, takes_s="", buttons=buttons)


def was_safe_view(state: JobState) -> View:
    """Return the view that asks whether the vehicle was made safe before it was mended: whoever touches says so."""
    then = "asked for again, then what was opened is bled" if state.to_bleed else "what puts it back is asked again"
    return View(
        kind="step",
        title=state.procedure.title,
        text="It is recorded what was mended, and not that it was made safe first. Was it, as the procedure says?"
        " Whoever touches says so.",
        step=WAS_SAFE,
        buttons=(
            Button("y", f"yes: {then}"),
            Button("n", "no, it was not"),
            Button("o", "nobody knows"),
        ),
    )
