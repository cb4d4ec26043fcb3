"""21: did the voltage hold? Every sample in a run within the band, and never longer between two than allowed."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

from witnessmark import quantity
from witnessmark.audit import ends, say
from witnessmark.audit.case import Case, time_ns
from witnessmark.audit.grounds.missing import half_recorded, unrun, unsure
from witnessmark.audit.limits import inside, spell
from witnessmark.audit.moments import Moments
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Actuation
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, no_proof
from witnessmark.errors import InputError
from witnessmark.journal import bodies
from witnessmark.quantity import Quantity
from witnessmark.range import Range, exact

Sample = tuple[int, Range, Quantity]


def answer(case: Case) -> Verdict:
    if case.procedure.voltage is None:
        return does_not_apply("the procedure gives no band for the voltage")
    if not case.actuating and not case.timeline.actuations:
        return does_not_apply("no pass of this job runs a wire command")
    runs = [run for run in case.timeline.actuations if run.ran is not None]
    if not runs:
        return no_proof("no entry of a run that began")
    samples = Moments(_samples(case), lambda sample: (sample[1].low, sample[1].high))
    details = [*unrun(case), *unsure(case), *half_recorded(case), *(_run(case, run, samples) for run in runs)]
    return from_details(details, f"every sample in a run was {spell(case.procedure.voltage)}, none too far apart")


def _samples(case: Case) -> list[Sample]:
    """Every voltage read by the machine or off an instrument, in the order of time."""
    found = [(one.seq, one.at, one.amount) for one in case.timeline.readings("voltage")]
    conditions = dict(case.all_of(bodies.Condition))
    for entry in case.of_kind("condition"):
        body = conditions[entry.seq]
        if body.name == "voltage" and body.source == "read" and (amount := _amount(body.found)) is not None:
            found.append((entry.seq, case.clock.occurred(entry), amount))
    return sorted(found, key=lambda sample: (sample[1].low, sample[0]))


@lru_cache(maxsize=1024)
def _amount(found: str) -> Quantity | None:
    try:
        return quantity.parse(found, place="voltage", unit="V")
    except InputError:
        return None  # what was found is no number: the control unit did not say, so it is no sample


def _run(case: Case, run: Actuation, samples: Moments[Sample]) -> Detail:
    assert run.ran is not None and case.procedure.voltage is not None
    known = not ends.unseen(run)
    start, end = run.ran.start.low, run.ran.end.high if known else run.ran.end.low
    gap = time_ns(case.procedure.voltage_gap) if case.procedure.voltage_gap else 0
    first, final = start - gap, end + gap
    near = [one for one in samples.within(first, final) if one[1].high >= first and one[1].low <= final]
    cites = (*run.cites, *(one[0] for one in near))
    outside = [one for one in near if not inside(one[2], case.procedure.voltage)]
    low = [one for one in outside if run.ran.contains(one[1]) == "yes"]
    if low:
        text = f"{low[0][2]} while it ran, asked {spell(case.procedure.voltage)}"
        return Detail(run.subject, "not met", text, cites)
    if not known:
        return Detail(run.subject, "no proof", "until when it ran is not known", cites)
    if not near:
        return Detail(run.subject, "no proof", "no sample of the voltage while it ran", cites)
    if not gap:
        return Detail(run.subject, "no proof", "the procedure does not say how far apart samples may be", cites)
    if outside:
        when = (
            "perhaps while it ran" if run.ran.contains(outside[0][1]) == "maybe" else "shortly before or after it ran"
        )
        return Detail(run.subject, "no proof", f"{outside[0][2]} {when}", cites)
    widest = _widest([one[1] for one in near], start, end)
    least = min((one[2] for one in near), key=lambda amount: quantity.convert(amount, "V"))
    text = f"least {least}, samples at most {say.seconds(widest)} apart, asked {case.procedure.voltage_gap}"
    return Detail(run.subject, "met" if widest <= gap else "no proof", text, cites)


def _widest(moments: list[Range], start: int, end: int) -> int:
    """Return the longest stretch without a sample, from the last one before the run (its start if none) to its end.

    `moments` are in the order of their lower ends; where they are ranges, it is the longest that may have been.
    """
    before = [moment for moment in moments if moment.high <= start][-1:] or [exact(start)]
    during = [moment for moment in moments if moment.high > start and moment.low < end]
    return max(b.high - a.low for a, b in pairwise([*before, *during, exact(end)]))


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(21, "voltage", "Did the voltage hold?", answer)]
