"""Steps that take some time at least: was there as much between what was entered before them and their own entry?

A case and an act or a reading flow in, how long it can have taken at most flows out. Rules that hold here: a step
begins when what comes before it in the walk was entered, whoever entered it, and anew with a pause, its end and an
interruption; what is entered besides (a note, a scan, who took the work in hand) begins none, nor does the same reading
once more. Of two touches made as the work was done the machine's own clock decides whether it was long enough; too
short for sure it was only where it was so at any moments that the touches stand for. Where the program was started
again between them only the time since its first entry is known, and may be too short. Of what was entered afterwards
the times that were given decide, with their uncertainty: they lie in no sure order, so one too short is no proof at
most.
"""

from __future__ import annotations

from bisect import bisect_left

import msgspec

from witnessmark import quantity
from witnessmark.audit import say
from witnessmark.audit.case import FEED, NS, Case
from witnessmark.audit.timeline import Act, Gauge
from witnessmark.errors import InputError
from witnessmark.journal import bodies
from witnessmark.procedure.mending import MENDED, MENDED_AT
from witnessmark.range import Range, Sure, exact


class Lasted(msgspec.Struct, frozen=True, gc=False):
    """How long a step can have taken, whether that is enough, and the entries it lies between."""

    subject: str
    sure: Sure
    text: str
    cites: tuple[int, ...]


def lasted(case: Case, act: Act | Gauge) -> Lasted | None:
    """Return how long a step took that takes some time at least; None for any other, and for one that was not done."""
    step = case.step(act.step)
    done = isinstance(act, Gauge) or act.done
    least_ns = _least_ns(step.takes_at_least) if step is not None and done else 0
    if step is None or not least_ns:
        return None
    moments = case.once("moments before", lambda: _moments(case))
    place = bisect_left(moments, (act.seq,))
    while place and _begins_none(case, moments[place - 1][0], act):
        place -= 1
    if not place:
        return Lasted(step.text, "maybe", "nothing was entered before it", (act.seq,))
    seq, at = moments[place - 1]
    both_live = act.seq in case.timeline.live and (seq in case.timeline.live or seq in _stops(case))
    entered = case.timeline.entered
    anew = _anew(case, seq, act.seq) if both_live else None
    least = f"it takes at least {step.takes_at_least}"
    if anew == act.seq:
        return Lasted(
            step.text, "maybe", f"no entry says how long after the program was started again; {least}", (anew,)
        )
    seq = seq if anew is None else anew
    took = exact(entered[act.seq] - entered[seq]) if both_live else act.at.minus(at)
    took = Range(max(0, took.low), max(0, took.high))
    since = "what was entered before it" if anew is None else "the first entry since the program was started again"
    text = f"{say.length(took)} after {since}"
    enough = took.at_least(least_ns)
    sure = both_live and anew is None
    if enough == "no" and sure and (apart := act.at.minus(at)).at_least(least_ns) != "no":
        sure, text = False, f"{text}, {say.length(apart)} as far as the times of both are known"
    enough = "maybe" if enough == "no" and not sure else enough
    return Lasted(step.text, enough, f"{text}; {least}", (seq, act.seq))


def _anew(case: Case, before: int, seq: int) -> int | None:
    """Return the first entry of the program that made `seq`, where another start of it made `before`; else None."""
    made = case.once("programs", lambda: {one.seq: one.recorded for one in case.entries})
    program = (made[seq].boot_id, made[seq].process)
    if program == (made[before].boot_id, made[before].process):
        return None
    later = (one for one in made if one > before)
    return next(one for one in later if (made[one].boot_id, made[one].process) == program)


def _begins_none(case: Case, seq: int, act: Act | Gauge) -> bool:
    """Whether an entry does not begin what is judged: the same reading before, or a pause where it was told later."""
    if seq in _stops(case):
        return act.seq not in case.timeline.live
    one = case.timeline.gauge(seq)
    return one is not None and (one.step, one.pass_id, one.nipple) == (act.step, act.pass_id, act.nipple)


def _least_ns(text: str) -> int:
    """Return a time in ns; none where it is not given, or is no time."""
    try:
        return round(quantity.convert(quantity.parse(text, place=""), "s") * NS) if text else 0
    except InputError:
        return 0


def _stops(case: Case) -> set[int]:
    """Return the entries by which the work was paused, taken up again or interrupted: the machine's own."""
    kinds = (bodies.State, bodies.Interrupted)
    return case.once("stops", lambda: {seq for kind in kinds for seq, _ in case.all_of(kind)})


def _moments(case: Case) -> list[tuple[int, Range]]:
    """Return every entry that begins the step after it, in the order of the journal, each once and when it was."""
    entered = case.timeline.entered
    acts = (act for act in case.timeline.acts if _in_walk(case, act))
    found = {act.seq: act.at for act in acts} | {one.seq: one.at for one in case.timeline.gauges}
    ends = {one.outcome_seq for one in case.timeline.actuations if one.pass_id and one.outcome_seq}
    found |= {seq: exact(entered[seq]) for seq in ends | _stops(case)}
    return sorted(found.items())


def _in_walk(case: Case, act: Act) -> bool:
    """Whether an act is of the walk: a step of the procedure, a nipple, the feed, or a mending a check waited for."""
    if act.act in ("opened", "closed") or act.affects in FEED:
        return True
    return act.step in (MENDED, MENDED_AT) or case.step(act.step) is not None
