"""What stands in the place of a view that asks for a run that cannot be sent now: nothing is opened for it.

The job's state, the view and why flow in, one view flows out: it has a nipple that stands open shut first, then waits.
"""

from __future__ import annotations

from msgspec.structs import replace

from witnessmark.job.screens.step_view import nipple_view
from witnessmark.job.view import Button, View
from witnessmark.job.walk.state import JobState
from witnessmark.procedure.model import Pass


def run_asked_for(state: JobState, view: View) -> Pass | None:
    """Return the pass that a view asks to open or to arm for a run of ours, None where it asks for none."""
    one = state.pass_of(view.pass_id)
    opens = view.kind == "open" and state.point is not None and state.point.kind == "open"
    return one if one is not None and one.wire_command and (opens or view.kind == "arm") else None


def withheld_view(
    state: JobState, one: Pass, view: View, why: str, then: str, *, again: str = "", step: str = ""
) -> View:
    """Return what is shown instead of `view`. `then` says in a sentence what is to be done.

    `again` is the label of the key that looks anew, of the step `step`; empty for none.
    """
    text = f"Nothing is sent: {why}."
    still = state.open_in(one)
    if still:
        close = nipple_view(state, one, still[0], "close")
        return replace(close, text=f"{text} {close.text}", stands=view.stands)
    text = f"{text} {then} Until then nothing is asked and no nipple opened."
    buttons = (Button("r", again),) if again else ()
    text = " ".join((text, *view.stands))
    return View(kind="busy", title=view.title, text=text, pass_id=view.pass_id, step=step, buttons=buttons)
