"""What was read that shows that it is not safe to open anything, and went on all the same: from a card, or before.

A job's state flows in, the point whose reading is due flows out. Rule that holds here: while such a reading is outside
its limits nothing is opened, and no reason takes the place of reading it again within them.
"""

from __future__ import annotations

from witnessmark.job.state import JobState
from witnessmark.job.steps import Point
from witnessmark.procedure.model import Step
from witnessmark.procedure.safe import never_kept, safe_first

CAUTION = (
    "It is not safe: nothing is opened while it reads so, and no reason changes that. Hands clear; let it off, read it"
    " again, or pause."
)


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
