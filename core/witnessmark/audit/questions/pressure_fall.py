"""12: did the pressure decay? The fall between two readings of the feed with nothing done to it between them.

Two gauges are not one: readings of two instruments, of none that is named, or of two bays that the job went through,
are not held together.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from witnessmark import quantity
from witnessmark.audit import say
from witnessmark.audit.case import NS, Case
from witnessmark.audit.grounds.sequence import any_between
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Gauge
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, no_proof
from witnessmark.quantity import Quantity


def answer(case: Case) -> Verdict:
    if not case.procedure.pressure_fall:
        return does_not_apply("the procedure does not limit how much the feed may lose")
    acts = [act.seq for act in case.feed_acts]
    moved = [one.seq for one in case.of_kind("moved")]
    readings = case.timeline.readings("feed-pressure")
    untouched = [(a, b) for a, b in pairwise(readings) if not any_between(acts, a.seq, b.seq)]
    held = [(a, b) for a, b in untouched if _one_gauge(moved, a, b)]
    if not held:
        named = all(one.instrument for pair in untouched for one in pair)
        why = "with one gauge" if untouched else "without being touched between"
        why += "" if named else ": with which instrument is not said"
        return no_proof(f"the feed was never read twice {why}", *(one.seq for one in readings))
    allowed = quantity.parse(case.procedure.pressure_fall, place="pressure_fall")
    falls = ((a, b, _fall(allowed, a, b)) for a, b in held)
    details = [fall if fall.answer == "met" else _slip(case, moved, allowed, a, b) or fall for a, b, fall in falls]
    return from_details(details, "the feed lost no more than allowed between two readings")


def _one_gauge(moved: Sequence[int], earlier: Gauge, later: Gauge) -> bool:
    """Whether two readings are of the same instrument, which is named, and of the same bay, with no move between."""
    same = bool(earlier.instrument) and earlier.instrument == later.instrument
    return same and not any_between(moved, earlier.seq, later.seq)


def _fall(allowed: Quantity, earlier: Gauge, later: Gauge) -> Detail:
    lost = quantity.convert(earlier.amount, allowed.unit) - quantity.convert(later.amount, allowed.unit)
    apart = later.at.minus(earlier.at)
    minutes = max(1, (apart.low + apart.high) // 2) / (60 * NS)
    way = "risen" if lost < 0 else "lost"
    text = f"{earlier.amount} to {later.amount} in {say.length(apart)}, "
    text += f"{way} {abs(lost) / minutes:.2f} {allowed.unit} a minute"
    fine = lost <= float(allowed.number) + 1e-9
    return Detail(later.pass_id or f"entry {later.seq}", "met" if fine else "not met", text, (earlier.seq, later.seq))


def _slip(case: Case, moved: Sequence[int], allowed: Quantity, earlier: Gauge, later: Gauge) -> Detail | None:
    """Say that a fall ends at a reading that was at once read again: a slip, or it was put right; None where not."""
    again = case.read_again(later)
    if again is None or not _one_gauge(moved, later, again) or _fall(allowed, earlier, again).answer != "met":
        return None
    text = f"{later.amount} read, at once read again as {again.amount}: nothing settles which"
    return Detail(later.pass_id or f"entry {later.seq}", "no proof", text, (earlier.seq, later.seq, again.seq))


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(12, "pressure-fall", "Did the feed hold its pressure?", answer)]
