"""The views of a pause: what stands open is shut first, or said to stay; what was left open is shut first of all.

The job's state flows in, one view flows out. Rules that hold here: going on and leaving stay possible with one key;
each nipple that stands open is asked for, then the feed's pressure; nothing is typed.
"""

from __future__ import annotations

from msgspec.structs import replace

from witnessmark.job.amiss.bleeding import unbled
from witnessmark.job.screens.cue_view import cued_view
from witnessmark.job.view import Button, View, title
from witnessmark.job.walk.standing import NOT_SAID, UNTIL_AT_REST, named
from witnessmark.job.walk.state import LEFT_BY_OTHERS, JobState
from witnessmark.procedure import service_mode

GO_ON = Button("r", "go on")


def paused_view(state: JobState, then: str) -> View:
    """Return the view of a paused job; `then` is where it goes on."""
    if state.cued:
        first = cued_view(state, state.cued[0])
        text = f"Paused. Shut the nipple {named(state, state.cued[0].nipple)} now. {first.text}"
        return replace(first, kind="paused", title="Paused", text=text, buttons=(*first.buttons, GO_ON))
    nipple = next((one for one in state.open_nipples if one not in state.stays_said), "")
    if nipple:
        text = f"Paused with a nipple OPEN. Close the nipple {named(state, nipple)} now"
        text += ": the pressure is on, and the reservoir runs empty." if state.pressurised else ": fluid runs out."
        buttons = (Button("y", "closed"), Button("n", "it stays open: the record says so"), GO_ON)
        return _view(text, state.opened_at(nipple), (nipple,), buttons)
    if state.pressurised and "" not in state.stays_said:
        text = "Paused with the feed under PRESSURE. Let it off before you go away from the vehicle."
        buttons = (Button("o", "it is let off"), Button("n", "it stays on: the record says so"), GO_ON)
        return _view(text, "", (), buttons)
    text = f"Paused. It goes on at: {then}"
    if state.open_nipples:
        still = state.open_nipples[0]
        after_all = Button("y", f"closed after all: {named(state, still)}")
        return _view(text, state.opened_at(still), (still,), (after_all, GO_ON))
    after_all = Button("o", "let off after all")
    return _view(text, "", (), (after_all, GO_ON) if state.pressurised else (GO_ON,))


def _view(text: str, pass_id: str, nipples: tuple[str, ...], buttons: tuple[Button, ...]) -> View:
    return View(kind="paused", title="Paused", text=text, pass_id=pass_id, nipples=nipples, buttons=buttons)


def left_open_view(state: JobState, nipple: str) -> View:
    """Return the view that has a nipple closed which stood open while the job lay: before all else."""
    pass_id = state.opened_at(nipple)
    text = f"The job lay with the nipple {named(state, nipple)} OPEN."
    before = "it was closed before the job went on"
    if state.is_unsure(nipple):
        text = f"The nipple {named(state, nipple)} may be OPEN: {NOT_SAID}."
        before = "it stands closed: looked at, at the nipple"
    return View(
        kind="close",
        title=title(state, pass_id),
        text=f"{text} Close it first of all, and look at the level: fluid may have run out.",
        pass_id=pass_id,
        nipples=(nipple,),
        buttons=(Button("y", "closed just now"), Button("b", before)),
    )


def done_view(state: JobState) -> View:
    """Return the view at the end of the walk: finish it, or first say that the feed, not said to be let off, is.

    What is left unbled is named.
    """
    buttons: tuple[Button, ...] = (Button("f", "finish the job"),)
    lines = unbled(state)
    if state.pressurised:
        on = "No entry says that the feed's pressure was let off."
        lines = (f"{on} Let it off before its lid comes off: fluid sprays out.", *lines)
        buttons = (Button("o", "it is let off"), *buttons)
    return View(kind="done", title="All steps are done.", text="\n".join(lines), buttons=buttons)


def others_view(state: JobState) -> View:
    """Return the view that has closed and let off what other jobs left on this vehicle: before all else."""
    mode = any(service_mode.SAID in one for one in state.others)
    first = "Close it, let it off and hold it" if mode else "Close it and let it off"
    if any(UNTIL_AT_REST in one for one in state.others):
        first = f"See that it is at rest, then {first[0].lower()}{first[1:]}"
    done = "closed, let off, and held or left" if mode else "closed and let off"
    return View(
        kind="decide",
        title=state.procedure.title,
        text="\n".join(("STOP: this vehicle was left so.", *state.others, f"{first} first of all.")),
        whole=True,
        step=LEFT_BY_OTHERS,
        buttons=(Button("y", f"all of it is {done}: looked at, at the vehicle"),),
    )
