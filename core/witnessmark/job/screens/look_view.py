"""The view before anything is opened for a run of another tester: what is asked as a run of ours is armed.

The job's state and a pass flow in, one view flows out. Rule that holds here: what a machine would read of the vehicle
is asked too, for none of ours reads it.
"""

from __future__ import annotations

from msgspec.structs import replace

from witnessmark.job.questions import questions
from witnessmark.job.screens.run_view import ARM, arm_view
from witnessmark.job.view import View
from witnessmark.job.walk.state import SAFETY_LOOK, JobState
from witnessmark.procedure.model import Pass

FIRST = "Look before anything is opened or run, and let the other tester show what only it reads. Then answer."


def look_view(state: JobState, one: Pass, holding: tuple[str, ...]) -> View:
    """Return the view that asks it; it goes on to the opening with one key for all that is looked at each time."""
    unread = tuple(one.name for one in state.map.conditions) if state.map is not None else ()
    asks = arm_view(state, one, unread, holding)
    text = asks.text.replace(ARM, FIRST)
    return replace(asks, text=text, step=SAFETY_LOOK, questions=questions(state, unread, holding))
