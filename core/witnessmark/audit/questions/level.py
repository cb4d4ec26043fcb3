"""25: is the level right? The last reading within its band, after the last nipple was closed and the pedal pumped."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from witnessmark.audit.case import SILENT, Case
from witnessmark.audit.grounds.asked import asked, last_close
from witnessmark.audit.grounds.sequence import Mark, Placed, last, not_after
from witnessmark.audit.limits import inside, spell
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Gauge
from witnessmark.audit.verdict import Verdict, does_not_apply, no_proof
from witnessmark.procedure.model import Limit, Step


def answer(case: Case) -> Verdict:
    steps = [step for step in case.procedure.steps_after if step.what == "level"]
    if not steps:
        return does_not_apply("the procedure asks for no level at the end")
    readings = case.timeline.readings("level")
    if not readings:
        return no_proof("no reading of the level")
    close = last_close(case)
    at_end = [one for one in readings if not _at_intake(case, one, close)]
    if not at_end:
        before = readings[-1]
        return no_proof(f"no reading of the level at the end; before the work it was {before.amount}", before.seq)
    final = at_end[-1]
    limit = _limit(final, steps[-1])
    text = f"{final.amount}, asked {spell(limit)}"
    if isinstance(close, str):
        return no_proof(f"{text}; {close}", final.seq)
    marks = [close, *_moved(case)]
    cites = (final.seq, *(one.seq for one in marks))
    for one in marks:
        sure = not_after(case, one, final)
        if sure == "no":
            return no_proof(f"{text}; read before {one.name}, not after", *cites)
        if sure == "maybe":
            return no_proof(f"{text}; whether it was read after {one.name} is within the uncertainty", *cites)
    if not (limit.low or limit.high):
        return no_proof(f"{final.amount}; the procedure gives no band to judge it by", *cites)
    if not inside(final.amount, limit):
        return Verdict("not met", text, cites=(final.seq,))
    if later := [seq for step in steps for seq in case.unwritten(step.id) if seq > final.seq]:
        return no_proof(f"{text}; how it was when it was asked again is {SILENT}", *cites, *later)
    if _pumped(case) is None and asked(case, "pedal-pumped"):
        return no_proof(f"{text}; no entry says that the pedal was pumped before", *cites)
    return Verdict("met", text, cites=cites)


def _at_intake(case: Case, one: Gauge, close: Mark | str) -> bool:
    """Whether a level is that of a step before the work, and not read again after the last nipple was closed."""
    before = any(step.id == one.step for step in case.procedure.steps_before)
    return before and (isinstance(close, str) or not_after(case, close, one) != "yes")


def _limit(reading: Gauge, step: Step) -> Limit:
    return step.limit or Limit(reading.low, reading.high)


def _moved(case: Case) -> Iterator[Mark]:
    """The last of each thing that moves the level: the pedal pumped, fluid filled in, fluid drawn off."""
    if (pumped := _pumped(case)) is not None:
        yield pumped
    filled: list[Placed] = [*case.timeline.acts_affecting("refill", "empty", "level-set")]
    filled += [one for what in ("volume-in", "volume-drawn") for one in case.timeline.readings(what)]
    if filled:
        yield last(case, filled, "fluid was last filled in or drawn off")


def _pumped(case: Case) -> Mark | None:
    pumped = case.timeline.acts_affecting("pedal-pumped")
    return last(case, pumped, "the pedal was pumped") if pumped else None


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(25, "level", "Is the level right?", answer)]
