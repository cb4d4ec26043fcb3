"""Steps that take some time at least: was there as much between what was entered before them and their own entry?

A case and an act flow in, how long it can have taken at most flows out. Rules that hold here: a step begins when what
comes before it was entered, whoever entered it; of two touches made as the work was done the machine's own clock
decides; of what was entered afterwards the times that were given do, with their uncertainty.
"""

from __future__ import annotations

from bisect import bisect_left

import msgspec

from witnessmark import quantity
from witnessmark.audit import say
from witnessmark.audit.case import NS, Case
from witnessmark.audit.range import Range, Sure, exact
from witnessmark.audit.timeline import Act
from witnessmark.errors import InputError
from witnessmark.journal import bodies


class Lasted(msgspec.Struct, frozen=True, gc=False):
    """How long a step can have taken, whether that is enough, and the entries it lies between."""

    subject: str
    sure: Sure
    text: str
    cites: tuple[int, ...]


def lasted(case: Case, act: Act) -> Lasted | None:
    """Return how long a step took that takes some time at least; None for any other, and for one that was not done."""
    step = case.step(act.step)
    least_ns = _least_ns(step.takes_at_least) if step is not None and act.done else 0
    if step is None or not least_ns:
        return None
    moments = case.once("moments before", lambda: _moments(case))
    place = bisect_left(moments, (act.seq,))
    if not place:
        return Lasted(step.text, "maybe", "nothing was entered before it", (act.seq,))
    seq, at = moments[place - 1]
    live = case.timeline.live
    entered = case.timeline.entered
    took = exact(entered[act.seq] - entered[seq]) if {seq, act.seq} <= live else act.at.minus(at)
    took = Range(max(0, took.low), max(0, took.high))
    text = f"{say.length(took)} after what was entered before it; it takes at least {step.takes_at_least}"
    return Lasted(step.text, took.at_least(least_ns), text, (seq, act.seq))


def _least_ns(text: str) -> int:
    """Return a time in ns; none where it is not given, or is no time."""
    try:
        return round(quantity.convert(quantity.parse(text, place=""), "s") * NS) if text else 0
    except InputError:
        return 0


def _moments(case: Case) -> list[tuple[int, Range]]:
    """Return every entry of something done or read, in the order of the journal, each once and when it was."""
    entered = case.timeline.entered
    found = {act.seq: act.at for act in case.timeline.acts} | {one.seq: one.at for one in case.timeline.gauges}
    found |= {seq: exact(entered[seq]) for seq, _ in case.all_of(bodies.CodeScan)}
    found |= {one.outcome_seq: exact(entered[one.outcome_seq]) for one in case.timeline.actuations if one.outcome_seq}
    return sorted(found.items())
