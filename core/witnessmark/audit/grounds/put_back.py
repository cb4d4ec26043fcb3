"""From when on the vehicle stood as it left: after the last nipple was closed, and after it was last made safe.

A case flows in, the moment flows out. Rules that hold here: making it safe lifts it and takes its wheels off, so that
no torque, refit or check from before holds; what was done first is told as in `sequence`. One that was entered once
only, and of which no time says that it came after the closing, is the one from before the work.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.grounds import sequence
from witnessmark.audit.grounds.asked import last_close
from witnessmark.audit.grounds.sequence import Mark
from witnessmark.audit.timeline import Act

SAFE = "made-safe"


def left_from(case: Case) -> Mark | str:
    """Return what has to be before wheels, refit and checks; in words why it is not known."""
    return case.once("left-from", lambda: _left_from(case))


def _left_from(case: Case) -> Mark | str:
    close = last_close(case)
    if isinstance(close, str):
        return close
    last = {step.id for step in case.procedure.steps_after}
    made = [act for act in case.timeline.acts_affecting(SAFE) if act.step not in last]
    lifted = [act for act in made if _lifts_again(case, act, close, made)]
    return sequence.last(case, lifted, "the vehicle was last made safe to work on") if lifted else close


def _lifts_again(case: Case, act: Act, close: Mark, made: Sequence[Act]) -> bool:
    """Whether it was made safe after the last closing; where no time settles it, the record has it made safe before."""
    if sequence.not_after(case, close, act) == "yes":
        return True
    unsettled = act.seq > close.seq and sequence.not_after(case, act, close) != "yes"
    return unsettled and any(one.step == act.step and one.seq < close.seq for one in made)
