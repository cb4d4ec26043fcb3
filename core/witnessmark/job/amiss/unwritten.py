"""What a card leaves empty: the walk goes on, and nothing counts as done for it.

A job's state and the entry that a place is not written flow in, the state after it flows out. Rules that hold here: a
nipple of which no closing is written counts as open until somebody closes it; a reading outside its limits stays read
where only the reason is not written; how the reservoir stands is looked at before anything runs; what was ticked beside
empty value is said by it alone; a run that is not written is decided on, and nobody is asked at the vehicle whether
a nipple was opened of which the card does not say so.
"""

from __future__ import annotations

from dataclasses import replace

from msgspec import structs

from witnessmark.job.amiss import unclear
from witnessmark.job.fluid.tank import OF_IT
from witnessmark.job.walk.state import REDO, UNEXPLAINED, JobState
from witnessmark.job.walk.steps import Point
from witnessmark.journal import bodies

NOT_RUN = "the card does not say that it ran"
DOUBT = "the card does not say all that was done to it"


def name_of(point: Point) -> str:
    """Return what an entry calls a point that is not written: the id of its step, or its kind."""
    return point.step.id if point.step is not None else point.kind


def without_reason(state: JobState, body: bodies.StepDone) -> bodies.StepDone:
    """Return that a reading stays as it was read as its step says it, where a card leaves empty why; all else as is."""
    own = state.word(body) == UNEXPLAINED
    return structs.replace(body, step=body.answer, answer="") if own else body


def passed(state: JobState, body: bodies.StepDone) -> JobState:
    """Return the state after a point that is not written."""
    point = state.point
    asked = point is not None and (name_of(point), point.pass_id, point.nipple) == (
        body.answer, body.pass_id, body.nipple,
    )  # fmt: skip
    touches = body.answer == "open" or (_closes(state, body.answer) and "closed" not in body.also)
    if body.nipple and touches:
        state = _may_be_open(state, body.pass_id, body.nipple)
    if not asked or point is None:
        return state
    if point.kind == "run":
        state = replace(state, unrun=(*state.unrun, (point.pass_id, state.last_seq)))
    elif point.kind == "open":
        state = replace(state, unopened=state.unopened | {(point.pass_id, point.nipple)})
    if point.step is not None and {point.step.what, *_words(point)} & {*OF_IT, "empty", "refill"}:
        state = replace(state, tank=replace(state.tank, doubt=DOUBT))
    return replace(state, wrong_fluid="", cursor=state.cursor + 1)


def _closes(state: JobState, name: str) -> bool:
    """Whether the touch that is not written closes a nipple."""
    closing = (step.id for step in state.procedure.steps_after_each_pass if "closed" in step.also)
    return name in ("close", *closing)


def unrun(state: JobState) -> tuple[str, ...]:
    """Return the passes of which a card does not say that they ran, and that nobody ran or decided on since."""
    return tuple(
        one for one, seq in state.unrun if not any(run.pass_id == one and run.intent > seq for run in state.runs)
    )


def to_decide(state: JobState) -> JobState | None:
    """Return the state as it is shown while such a pass is decided on; None where none is, or a nipple stands open."""
    due = unrun(state)
    if not due or state.open_nipples or state.decide:
        return None
    return replace(state, decide=due[0], done_not_right=NOT_RUN)


def decided(state: JobState, body: bodies.StepDone) -> JobState:
    """Return the state after such a pass was decided on: it is done again, or goes on as it is."""
    state = replace(state, unrun=tuple(one for one in state.unrun if one[0] != body.pass_id))
    if body.step != REDO:
        return state
    again = frozenset(one for one in state.unopened if one[0] != body.pass_id)
    return unclear.done_again(unclear.settled(replace(state, unopened=again), body.pass_id), body.pass_id)


def settled(state: JobState, nipple: str) -> JobState:
    """Return the state after a nipple was said to be opened, or closed."""
    return replace(state, unsure=tuple(one for one in state.unsure if one[1] != nipple))


def _may_be_open(state: JobState, pass_id: str, nipple: str) -> JobState:
    others = tuple(one for one in state.open_nipples if one != nipple)
    state = settled(state, nipple)
    return replace(state, open_nipples=(*others, nipple), unsure=(*state.unsure, (pass_id, nipple)))


def _words(point: Point) -> tuple[str, ...]:
    return (point.step.affects, *point.step.also) if point.step is not None else ()
