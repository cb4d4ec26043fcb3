"""Which of several readings of one thing at a visit counts: the last, for what was read before it is no more so.

The readings of a visit flow in, words flow out. Rules that hold here: a volume adds up and none takes another's place;
what was read outside its limits and then within them is told, with what a person says was put right between.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.timeline import VOLUMES, Gauge
from witnessmark.procedure import own


def counts_instead(readings: Sequence[Gauge], one: Gauge) -> Gauge | None:
    """Return the last reading of the same thing at the same step of the visit; None where it is this one."""
    same = [it for it in readings if (it.what, it.step, it.nipple) == (one.what, one.step, one.nipple)]
    return same[-1] if same and same[-1].seq > one.seq and one.what not in VOLUMES else None


def words(case: Case, one: Gauge, last: Gauge, amount: str) -> str:
    """Say that `last` counts, read as `amount`, and what was put right before it was."""
    said = [act for act in case.timeline.said(own.PUT_RIGHT, one.pass_id) if one.seq < act.seq < last.seq]
    mine = [act for act in said if act.answer == one.step and act.mended]
    right = "".join(f"; {act.done_by.partition(':')[2]} says what was put right: {act.mended}" for act in mine[-1:])
    return f"{right}; read again, {amount} counts"
