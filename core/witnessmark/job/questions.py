"""What is asked before arming: what only eyes can see, and preconditions that nobody can read."""

from __future__ import annotations

from witnessmark.job.condition import STANDING
from witnessmark.job.first_use import due_now
from witnessmark.job.state import JobState
from witnessmark.job.view import Asked
from witnessmark.mapping.first_use import QUESTIONS

OPENED = "opened"
"""The question before arming by which the nipples of the pass are said to be open."""


def questions(state: JobState, unreadable: tuple[str, ...] = ()) -> tuple[Asked, ...]:
    """Return the questions for a job in this state. `unreadable` are preconditions that could not be read just now."""
    readable = {one.name for one in state.map.conditions} if state.map else set()
    told = [one for one in state.procedure.preconditions if one.name not in readable or one.name in unreadable]
    asked = [Asked(one.id, one.text) for one in state.procedure.questions]
    asked += [Asked(one.name, one.text) for one in told]
    named = {one.name for one in state.procedure.preconditions} | {one.id for one in asked}
    if STANDING not in named and (STANDING not in readable or STANDING in unreadable):
        asked.append(Asked(STANDING, "Does the vehicle stand still, held so that it cannot roll?"))
    if due_now(state) is not None:
        asked += [Asked(name, text) for name, text in QUESTIONS.items()]
    return tuple(asked)
