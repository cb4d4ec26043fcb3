"""25: is the level right? The last reading within its band, after the last nipple was closed and the pedal pumped."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.asked import Mark, last_close
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
    if not inside(last.amount, limit):
        return Verdict("not met", text, cites=(last.seq,))
    marks = [mark for mark in (last_close(case), _pumped(case)) if mark is not None]
    cites = (last.seq, *(mark.seq for mark in marks))
    if last_close(case) is None:
        return no_proof(f"{text}; no entry says that any nipple was closed", *cites)
    for mark in marks:
        if last.seq < mark.seq or mark.at.before(last.at) == "no":
            return no_proof(f"{text}; read before {mark.name}, not after", *cites)
    if _pumped(case) is None and any(step.affects == "pedal-pumped" for step in case.procedure.steps_after):
        return no_proof(f"{text}; no entry says that the pedal was pumped before", *cites)
    return Verdict("met", text, cites=cites)


def _limit(reading: Gauge, step: Step) -> Limit:
    return step.limit or Limit(reading.low, reading.high)


def _pumped(case: Case) -> Mark | None:
    pumped = case.timeline.acts_affecting("pedal-pumped")
    return Mark(pumped[-1].at, pumped[-1].seq, "the pedal was pumped") if pumped else None


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(25, "level", "Is the level right?", answer)]
