"""The views of a first use: asked before it, with everything shut, and what was seen and felt after it."""

from __future__ import annotations

from witnessmark.job.allowed.first_use import trial
from witnessmark.job.questions import questions
from witnessmark.job.reasons import FAILED, UNSURE, WORKED
from witnessmark.job.screens.run_view import learned
from witnessmark.job.screens.step_view import nipple_view
from witnessmark.job.view import Button, View, title
from witnessmark.job.walk.state import JobState
from witnessmark.mapping.first_use import QUESTIONS
from witnessmark.procedure.model import Pass

RESULTS = {"1": "worked", "2": "failed", "3": "unsure"}
"""The keys of the result, and the words of its entry."""


def first_use_view(state: JobState, one: Pass, unreadable: tuple[str, ...]) -> View:
    """Return the view that asks before a first use; where a nipple stands open, the one that closes it."""
    if state.open_nipples:
        return nipple_view(state, one, state.open_nipples[0], "close")
    command = state.command_of(one)
    assert command is not None
    return View(
        kind="arm",
        title=title(state, one.id),
        text=f"First use of {command.id} on this control unit, before any nipple opens. {command.words}: "
        f"{trial(command).seconds}, the shortest time seen. The shop lead is here, and stays. "
        "Answer with your own eyes, then arm.",
        caution=learned(state, one) + " ".join(state.procedure.cautions),
        pass_id=one.id,
        questions=questions(state, unreadable),
    )


def waits_for_lead(view: View, sign_on: str) -> View:
    """Return what stands in the place of a first use's questions while no lead is here: nothing is asked before."""
    what = view.text.partition(". ")[0]
    text = f"{what}. It waits for the shop lead, signed on with the PIN: `{sign_on}`, at another terminal."
    return View(kind="busy", title=view.title, text=f"{text} Nothing is asked before.", pass_id=view.pass_id)


def asks_first_use(view: View) -> bool:
    """Whether a view asks before a first use."""
    return view.kind == "arm" and any(one.id in QUESTIONS for one in view.questions)


def result_view(state: JobState) -> View:
    """Return the view that asks what a first use did. That it worked can be said only of one that ran to its end."""
    run = state.run_of(state.result_due)
    buttons = [Button("2", "did not work as expected, and what you saw", asks=True, reasons=FAILED)]
    buttons.append(Button("3", "not sure, and what you saw", asks=True, reasons=UNSURE))
    if run is not None and run.result == "completed":
        buttons.insert(0, Button("1", "worked as expected, and what you saw", asks=True, reasons=WORKED))
    name = run.wire_command if run is not None else ""
    return View(
        kind="result",
        title=f"First use of {name}",
        text="What was seen, heard and felt? No nipple opens with it before it is said to work as expected.",
        buttons=tuple(buttons),
    )
