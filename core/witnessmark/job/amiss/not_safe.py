"""What was read that shows that it is not safe to open anything, and went on all the same: from a card, or before.

A job's state flows in, the point whose reading is due flows out. Rules that hold here: while such a reading is outside
its limits nothing is opened, and no reason takes the place of reading it again within them; what makes it safe, or
reads that it is, may be said not to be so, with a reason: then the walk stands there, and nothing is opened. A check
that is not left out stands after a no as well, and says so.
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.job.fluid.container import FLUID
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import Point
from witnessmark.journal import bodies
from witnessmark.procedure import service_mode
from witnessmark.procedure.model import Step
from witnessmark.procedure.safe import never_kept, safe_first
from witnessmark.procedure.steps import is_check

CAUTION = (
    "It is not safe: nothing is opened while it reads so, and no reason changes that. Hands clear; let it off, read it"
    " again, or pause."
)


NOT_SO = "it is not so, and why: nothing is opened"
UNREAD = "it cannot be read, and why: nothing is opened"
SAID = "It was said not to be so, or not to be read: nothing is opened until it is."
NO = "It was said not to be so, or not to be read or seen: for safety this stays open."
NO_LABEL = "Nothing is filled from it: take one whose label can be read."
WORDS = {"made-safe", "service-mode-on"}


def makes_safe(state: JobState, point: Point | None) -> bool:
    """Say whether a step makes it safe to open, or reads that it is: it stands until it is so, and is not left out."""
    step = point.step if point is not None else None
    if point is None or step is None or step.may_skip or point.kind not in ("step", "reading") or step.act == "check":
        return False
    early = step in (*state.procedure.steps_before, *state.procedure.steps_before_each_pass)
    return step in safe_first(state.procedure) or (early and not WORDS.isdisjoint({step.affects, *step.also}))


def note(state: JobState, body: bodies.StepDone | bodies.Reading) -> JobState:
    """Take note that a step was said not to be so, or that it was done or read after that, and of a service mode."""
    if not (isinstance(body, bodies.StepDone) and body.act == "skipped"):
        state = state.changed(mode_on=service_mode.is_on((body.affects, *body.also), state.mode_on))
    point = state.point
    if point is None or point.step is None or body.step != point.step.id:
        return state
    if not makes_safe(state, point) and not _stays(point, point.step):
        return state
    skipped = isinstance(body, bodies.StepDone) and body.act == "skipped"
    return replace(state, not_so=body.step if skipped else "")


def _stays(point: Point, step: Step) -> bool:
    """Say whether the walk stays at a check after a no."""
    return point.kind == "step" and is_check(step) and not step.may_skip


def told(state: JobState, step: Step, text: str) -> str:
    """Return the text of a step, with what was said of it last where that is no."""
    if state.not_so != step.id or step.id in state.not_right:
        return text
    text = text if text.endswith((".", "?")) else f"{text}."
    if not is_check(step):
        return f"{text} {SAID}"
    key = "the number of what it says, or o" if step.choices else "y once it is so"
    return f"{text} {NO} {f'{NO_LABEL} ' if step.affects in FLUID else ''}Press {key}, or p to pause."


def is_kept_never(state: JobState, step: Step) -> bool:
    """Say whether a step's reading cannot be kept as it is."""
    return never_kept(state.procedure, step)


def due(state: JobState) -> Point | None:
    """Return the point whose reading is outside its limits, of those behind which a nipple is still to be opened."""
    if not any(one.kind in ("open", "run") for one in state.points[state.cursor :]):
        return None
    first = safe_first(state.procedure)
    for point in reversed(state.points[: state.cursor]):
        if point.step is None or point.step not in first:
            continue
        last = state.reading(point.step.what or point.step.id)
        if last is not None and last.within is False and last.pass_id == point.pass_id:
            return point
    return None
