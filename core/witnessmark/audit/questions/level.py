"""25: is the level right? The last reading within its band, after the last nipple was closed and the pedal pumped."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from witnessmark.audit.asked import Mark, asked, last_close
from witnessmark.audit.case import Case
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
    last = readings[-1]
    limit = _limit(last, steps[-1])
    text = f"{last.amount}, asked {spell(limit)}"
    close = last_close(case)
    if isinstance(close, str):
        return no_proof(f"{text}; {close}", last.seq)
    marks = [close, *_moved(case)]
    cites = (last.seq, *(mark.seq for mark in marks))
    for mark in marks:
        if last.seq < mark.seq or mark.at.before(last.at) == "no":
            return no_proof(f"{text}; read before {mark.name}, not after", *cites)
    if not (limit.low or limit.high):
        return no_proof(f"{last.amount}; the procedure gives no band to judge it by", *cites)
    if not inside(last.amount, limit):
        return Verdict("not met", text, cites=(last.seq,))
    if _pumped(case) is None and asked(case, "pedal-pumped"):
        return no_proof(f"{text}; no entry says that the pedal was pumped before", *cites)
    return Verdict("met", text, cites=cites)


def _limit(reading: Gauge, step: Step) -> Limit:
    return step.limit or Limit(reading.low, reading.high)


def _moved(case: Case) -> Iterator[Mark]:
    """The last of each thing that moves the level: the pedal pumped, fluid filled in, fluid drawn off."""
    if (pumped := _pumped(case)) is not None:
        yield pumped
    filled = [(one.at, one.seq) for one in case.timeline.acts_affecting("refill", "empty", "level-set")]
    filled += [(one.at, one.seq) for what in ("volume-in", "volume-drawn") for one in case.timeline.readings(what)]
    if filled:
        at, seq = max(filled, key=lambda one: one[1])
        yield Mark(at, seq, "fluid was last filled in or drawn off")


def _pumped(case: Case) -> Mark | None:
    pumped = case.timeline.acts_affecting("pedal-pumped")
    return Mark(pumped[-1].at, pumped[-1].seq, "the pedal was pumped") if pumped else None


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(25, "level", "Is the level right?", answer)]
