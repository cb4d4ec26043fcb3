"""What must be seen to be safe before another tester runs anything: asked before a nipple opens for it, and answered.

A job's state flows in, whether it is asked and the body of its entry flow out; `screens.look_view` asks it. Rules that
hold here: where a run is ours the same is asked as it is armed; it is asked before the first opening of each pass,
again for each further run of it and after a pause; what holds between passes is asked once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from witnessmark.job.view import View
from witnessmark.job.walk import runs
from witnessmark.job.walk.state import SAFETY_LOOK, JobState
from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry
from witnessmark.procedure.model import Pass


def due(state: JobState, one: Pass) -> bool:
    """Whether the walk stands before opening or run of a pass for which nobody looked yet."""
    here = state.point is not None and state.point.kind in ("open", "run")
    return here and state.grade != "sent" and bool(one.wire_command) and state.looked != _attempt(state, one.id)


def body(view: View) -> bodies.StepDone:
    """Return the body that says that somebody looked at all that was asked, and that it is so."""
    return bodies.StepDone(
        step=SAFETY_LOOK,
        act="confirmed",
        pass_id=view.pass_id,
        answer=" ".join(one.id for one in view.questions),
        said=" ".join(one.text if one.text.endswith(("?", ".")) else f"{one.text}." for one in view.questions),
    )


def looked(state: JobState, entry: Entry, said: bodies.StepDone) -> JobState:
    """Take note that somebody looked, for the next run of a pass."""
    return runs.hold(replace(state, looked=_attempt(state, said.pass_id)), entry, _held(state, said.answer.split()))


def _held(state: JobState, ids: Sequence[str]) -> list[str]:
    return [one.id for one in state.procedure.questions if one.holds and one.id in ids]


def _attempt(state: JobState, pass_id: str) -> tuple[str, int]:
    return pass_id, sum(run.pass_id == pass_id for run in state.runs)
