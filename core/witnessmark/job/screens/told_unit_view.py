"""The view of what no machine of ours reads: a person reads it on another tester and types it, or goes on without."""

from __future__ import annotations

from witnessmark.job.reasons import OTHER_NUMBER
from witnessmark.job.unit.waking import SILENT, when_silent
from witnessmark.job.view import Button, View
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import Point

TELLS, SHOWS_NONE = "y", "o"
"""The keys by which a person types what the other tester shows, or says that it shows no code."""


def told_unit_view(state: JobState, point: Point) -> View:
    """Return the view of a step of the machine's where nothing of ours may ask."""
    step = point.step
    assert step is not None
    how = "We only listen here" if state.grade == "heard" else "Nothing of ours is on the vehicle"
    tells = [Button(TELLS, "the codes it shows", asks=True), Button(SHOWS_NONE, "it shows no code")]
    if step.act == "identify":
        tells = [Button(TELLS, "the number it shows", asks=True)]
    text = f"{step.text}: {how}, so no machine reads it. Read it on the other tester and type it, or go on without."
    leaves = Button("n", "go on without it")
    if state.other_vehicle and step.act == "identify":
        leaves = Button("n", "go on all the same, and why: the record says so", asks=True, reasons=OTHER_NUMBER)
        text = f"HANDS OFF: it was said to be {state.other_vehicle}, and the order says {state.vehicle}. {text}"
    return View(
        kind="step",
        title=state.procedure.title,
        text=text,
        caution=step.caution,
        step=step.id,
        shown={SILENT: when_silent(state.procedure)},
        buttons=(*tells, leaves),
    )
