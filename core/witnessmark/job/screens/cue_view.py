"""The views that ask afterwards whether a nipple was opened: on the cue that was called out, or while its run went on.

The job's state flows in, one view flows out. Rule that holds here: after a run that did not complete what is done at
the nipple comes before the question; while nobody knows whether it still goes on, another view stands.
"""

from __future__ import annotations

from witnessmark.job.view import Button, View, title
from witnessmark.job.walk.standing import named, undecided
from witnessmark.job.walk.state import Cue, JobState
from witnessmark.procedure.model import Pass


def cued_view(state: JobState, cue: Cue) -> View:
    """Return the view that asks, after the run, what was done on the cue: the machine only called it out."""
    first = f"{_stopped(state, cue)} " if state.decide == cue.pass_id and not state.done_not_right else ""
    return View(
        kind="open",
        title=title(state, cue.pass_id, cue.nipple),
        text=f"{first}Was the nipple {named(state, cue.nipple)} opened on the cue?",
        pass_id=cue.pass_id,
        nipples=(cue.nipple,),
        buttons=(
            Button("y", "opened on the cue"),
            Button("l", "opened late, while it ran"),
            Button("n", "not opened: the run does not count"),
        ),
    )


def _stopped(state: JobState, cue: Cue) -> str:
    """Return what is done first after a run that did not complete and is at rest, and how it ended."""
    may_be = f"Nipple {named(state, cue.nipple)} may be OPEN{' under PRESSURE' if state.pressurised else ''}"
    return f"{may_be}: close it now. {undecided(state)}"


def missed_view(state: JobState, one: Pass | None, nipple: str) -> View:
    """Return the view that asks whether a nipple was opened during its run."""
    return View(
        kind="open",
        title=title(state, one.id if one else ""),
        text=f"Was the nipple {named(state, nipple)} opened while it ran?",
        pass_id=one.id if one else "",
        nipples=(nipple,),
        buttons=(Button("y", "yes, opened during the run"), Button("n", "no: the run does not count")),
    )
