"""What is asked before arming: what only eyes can see, and preconditions that nobody can read."""

from __future__ import annotations

from witnessmark.clock import NS, Stamp
from witnessmark.job.allowed.first_use import due_now
from witnessmark.job.amount import seconds
from witnessmark.job.moment import since_ns
from witnessmark.job.unit import condition
from witnessmark.job.unit.condition import STANDING
from witnessmark.job.view import Asked
from witnessmark.job.walk.state import JobState
from witnessmark.mapping.first_use import QUESTIONS
from witnessmark.procedure.model import Procedure

OPENED = "opened"
"""The question before arming by which the nipples of the pass are said to be open."""


def held(state: JobState, now: Stamp, boot_id: str) -> tuple[str, ...]:
    """Return the questions whose yes still holds; one whose age is not known does not."""
    found = []
    for one in state.procedure.questions:
        said = dict(state.held).get(one.id)
        age_ns = since_ns(said, now, boot_id) if said is not None and one.holds else None
        if age_ns is not None and age_ns <= seconds(one.holds, place=f"question {one.id}, holds") * NS:
            found.append(one.id)
    return tuple(found)


STANDS = "Does the vehicle stand still, held so that it cannot roll?"
"""What is asked before every run, where the procedure does not and nothing reads it."""


def looks(procedure: Procedure) -> tuple[str, ...]:
    """Return all that is looked at before a run where nothing of it is read, as on a card."""
    named = {one.name for one in procedure.preconditions} | {one.id for one in procedure.questions}
    texts = (*(one.text for one in procedure.questions), *map(condition.asked, procedure.preconditions))
    return texts if STANDING in named or not works(procedure) else (*texts, STANDS)


def works(procedure: Procedure) -> bool:
    """Whether any pass of it runs a wire command."""
    return any(one.wire_command for one in procedure.passes)


def questions(state: JobState, unreadable: tuple[str, ...] = (), standing: tuple[str, ...] = ()) -> tuple[Asked, ...]:
    """Return the questions for a job in this state. `unreadable` are preconditions that could not be read just now.

    Those whose yes is `standing` are left out; those that hold for a time come first, each for a touch of its own, and
    those of a first use last, each for one too; at a first use, when every nipple is shut, none is asked of a nipple.
    """
    readable = {one.name for one in state.map.conditions} if state.map else set()
    first = due_now(state) is not None
    told = [one for one in state.procedure.preconditions if one.name not in readable or one.name in unreadable]
    due = [one for one in state.procedure.questions if one.id not in standing and not (first and one.nipple)]
    asked = [Asked(one.id, one.text, alone=True) for one in due if one.holds]
    asked += [Asked(one.id, one.text) for one in due if not one.holds]
    asked += [Asked(one.name, condition.asked(one)) for one in told]
    named = {one.name for one in state.procedure.preconditions} | {one.id for one in state.procedure.questions}
    if STANDING not in named and (STANDING not in readable or STANDING in unreadable):
        asked.append(Asked(STANDING, STANDS))
    if first:
        asked += [Asked(name, text, alone=True) for name, text in QUESTIONS.items()]
    return tuple(asked)
