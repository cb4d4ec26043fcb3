"""What stands open at this moment, in words that say the next physical act, and what is still to be done.

The job's state flows in, lines flow out. Rules that hold here: a cue that nobody has answered yet may have opened its
nipple; no hand is sent to a nipple while nobody knows whether a run still goes on.
"""

from __future__ import annotations

from collections.abc import Iterable

from witnessmark.job.amiss.shown_open import of_mend
from witnessmark.job.fluid.container import gone_on_with
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import Point
from witnessmark.procedure import service_mode
from witnessmark.procedure.mending import unbled

NOT_SAID = "the card does not say that it was closed"
PRESSURE_ON = "The feed's pressure is on."
UNTIL_AT_REST = "do not touch it until it is seen at rest."
"""The act at an open nipple while nobody knows whether a run still goes on."""


def named(state: JobState, nipple: str) -> str:
    """Return the name of a nipple, its id when the procedure does not have it."""
    return next((known.name for known in state.procedure.nipples if known.id == nipple), nipple)


def place(state: JobState, pass_id: str) -> str:
    """Return the names of a pass's nipples, planned or not; its id where the procedure has no such pass."""
    one = next((known for known in state.procedure.passes if known.id == pass_id), None)
    return " and ".join(named(state, name) for name in one.nipples) if one is not None else pass_id


def spoken(state: JobState, point: Point) -> str:
    """Return a point of the walk in words: the pass and nipple it belongs to, and what is done at it."""
    one = state.pass_of(point.pass_id)
    places = [point.nipple] if point.nipple or one is None else [*one.nipples]
    where = ", ".join([point.pass_id, *(named(state, name) for name in places if name)]) if point.pass_id else ""
    command = None if one is None else state.command_of(one)
    runs = command.words if command is not None else "the run"
    what = (
        point.step.text
        if point.step
        else {"open": "open the nipple", "close": "close the nipple"}.get(point.kind, runs)
    )
    return f"{where}: {what}" if where else what


def runs_perhaps(state: JobState) -> bool:
    """Whether a run has no known end, and nobody has seen it at rest."""
    return state.inspect is not None or bool(state.unended)


def standing(state: JobState, *, runs: bool | None = None) -> tuple[str, ...]:
    """Return what stands open: nipples, the feed's pressure, and a service mode that was entered.

    `runs`: whether a run may still go on, where a view says what is done meanwhile; else what the entries say of it.
    """
    act = UNTIL_AT_REST if (runs_perhaps(state) if runs is None else runs) else ""
    lines = [f"Nipple {named(state, one)} {_how(state, one, act)}" for one in state.open_nipples]
    shut = act or "close it."
    lines += [f"Nipple {named(state, one.nipple)} may be OPEN (the cue was given): {shut}" for one in state.cued]
    if state.pressurised:
        lines.append(PRESSURE_ON)
    if state.mode_on:
        lines.append(service_mode.line(state.procedure))
    return tuple(lines)


def as_left(state: JobState, *, runs: bool | None = None) -> tuple[str, ...]:
    """Return what is told wherever a job is left: what stands open, another fluid, and what is still to be bled."""
    due = (unbled(named(state, one) for one in state.to_bleed) + of_mend(state),) if state.to_bleed else ()
    fluid = (gone_on_with(state),) if gone_on_with(state) else ()
    return (*standing(state, runs=runs), *fluid, *due)


def _how(state: JobState, nipple: str, act: str) -> str:
    """Return how an open nipple stands, and the act: left so as the job lay, perhaps by a card, said so, or open."""
    if is_contradicted(state, nipple):
        return f"may be OPEN (it was said to be opened): {act or 'see that it is shut.'}"
    if state.is_unsure(nipple):
        return f"may be OPEN ({NOT_SAID}): {act or 'close it.'}"
    how = "is OPEN"
    if state.status == "paused" or nipple in state.left_open:
        lay = state.status != "paused" and state.lay_unpaused
        how = f"was left OPEN {'while the job lay' if lay else 'when the job was paused'}"
    return f"{how}: {act or 'close it.'}"


def is_contradicted(state: JobState, nipple: str) -> bool:
    """Whether an entry says that a nipple was opened, and a later one that it was shut while its pass ran."""
    return nipple in state.open_nipples and (state.decide, nipple) in state.missed


def undecided(state: JobState) -> str:
    """Return why the pass in hand must be decided on: its run did not complete, or it did and was not right."""
    last = next((run for run in reversed(state.runs) if run.pass_id == state.decide), None)
    if last is not None and last.result != "completed":
        return f"This run did not complete. {last.stop}".strip()
    why = state.done_not_right or "it was not right"
    return f"The run completed, and {why}." if last is not None else f"This pass was done, and {why}."


def close_now(state: JobState, nipple: str) -> str:
    """Return the act that comes first after a run that did not complete."""
    return f"Close the nipple {named(state, nipple)} now{': the pressure is on' if state.pressurised else ''}."


def is_open(state: JobState, nipples: Iterable[str]) -> str:
    """Return which of these nipples stand open, and under what; empty where none does."""
    names = [named(state, one) for one in nipples]
    under = " under PRESSURE" if state.pressurised else ""
    many = "nipples" if len(names) > 1 else "nipple"
    return f"the {many} {' and '.join(names)} {'are' if len(names) > 1 else 'is'} OPEN{under}" if names else ""


def close_first(state: JobState, nipples: Iterable[str]) -> str:
    """Return what comes first after a no: these nipples stand open."""
    return f"{is_open(state, nipples)}: close it first (key k), put it right"


def sentence(words: str) -> str:
    """Return words as a sentence of their own, empty where there are none."""
    return f"{words[0].upper()}{words[1:]}." if words else ""
