"""What was worked last, and whose hands did it: a runner that goes on keeps them, or says whose they are now.

A job's state and an entry flow in, the state after it flows out. Rule that holds here: what is decided at the screen,
what a second person or a lead says, and what is typed in afterwards say nothing of whose hands do the work.
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.job.record import DECIDED
from witnessmark.job.walk.state import LEVEL_LOOK, MIXING_ALLOWED, READY, JobState
from witnessmark.job.walk.steps import Point, left_standing
from witnessmark.journal.entry import Entry

PERSON = "person:"
BY_ANOTHER = (READY, MIXING_ALLOWED)
"""What is said by a second person or a lead, whoever they are."""


def noted(state: JobState, entry: Entry) -> JobState:
    """Take note of whose hands did what was touched, and of who entered it."""
    touched = entry.kind in ("step", "reading") and entry.occurred.basis != "typed"
    step = entry.body.get("step", "")
    if (
        not touched
        or not entry.done_by.startswith(PERSON)
        or step in (*DECIDED, *BY_ANOTHER)
        or step in _of_the_second(state)
    ):
        return state
    return replace(state, worked=(entry.done_by.removeprefix(PERSON), entry.entered_by.removeprefix(PERSON)))


def stamped(state: JobState, entry: Entry, before: Point | None) -> JobState:
    """Take note of which entry last says anything of the vehicle, and which closed the last of what a job left open.

    `before` is the point that the entry came to.
    """
    if entry.kind == "state":
        return state
    look = entry.body.get("step") == LEVEL_LOOK and not entry.body.get("affects")
    closed = left_standing(before) and not left_standing(state.point)
    followed = entry.seq if closed else state.followed_said
    return state.changed(
        worked_seq=entry.seq, followed_said=followed, level_said=entry.seq if look else state.level_said
    )


def _of_the_second(state: JobState) -> set[str]:
    own = state.procedure
    groups = (own.steps_before, own.steps_before_each_pass, own.steps_after_each_pass, own.steps_after)
    return {step.id for group in groups for step in group if step.person == "second"}
