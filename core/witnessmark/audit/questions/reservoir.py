"""15: could the reservoir run dry? What ran out since the last filling, against what it holds until it draws air."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from witnessmark import quantity
from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.say import listing
from witnessmark.audit.timeline import Gauge
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, no_proof, worst
from witnessmark.audit.volumes import impossible, in_ml, read_with


def answer(case: Case) -> Verdict:
    if not case.procedure.reservoir:
        return does_not_apply("the procedure does not say what the reservoir holds")
    holds = quantity.convert(quantity.parse(case.procedure.reservoir, place="reservoir"), "mL")
    filled = sorted(
        {act.seq for act in case.timeline.acts_affecting("refill")}
        | {one.seq for one in case.timeline.readings("volume-in")}
    )
    if not filled:
        return no_proof("no entry says that the reservoir was filled")
    if case.timeline.openings and (case.timeline.openings[0].opened or 0) < filled[0]:
        return no_proof("a nipple was opened before the reservoir was recorded as filled", filled[0])
    bounds = [*filled, case.entries[-1].seq + 1]
    details: list[Detail] = []
    stock = holds
    for start, end in pairwise(bounds):
        if details:
            stock = min(holds, max(0.0, stock) + _filled_in(case, start, holds))
        details.append(_since(case, start, end, stock))
        stock -= in_ml(_volumes(case, start, end))
    details += [Detail(one.id, "no proof", f"no entry of what was done at {one.id}") for one in case.untouched]
    answer = worst(one.answer for one in details)
    decides = next(one for one in details if one.answer == answer)
    return Verdict(answer, decides.text, tuple(details))


def _volumes(case: Case, start: int, end: int) -> list[Gauge]:
    return [one for one in case.timeline.readings("volume") if start < one.seq < end]


def _filled_in(case: Case, seq: int, full: float) -> float:
    """Return how much was filled in by an entry; one that gives no volume says that it was filled up."""
    read = [one for one in case.timeline.readings("volume-in") if one.seq == seq]
    return in_ml(read) if read else full


def _since(case: Case, start: int, end: int, stock: float) -> Detail:
    """Judge one filling, after which it held `stock` in mL: the visits that began after it and before the next."""
    visits = {one.pass_id: one for one in case.timeline.openings if one.opened is not None and start < one.opened < end}
    readings = _volumes(case, start, end)
    subject = f"filling, entry {start}"
    if (wrong := impossible(readings)) is not None:
        return Detail(subject, "no proof", *wrong)
    out = in_ml(readings)
    cites = (start, *(one.seq for one in readings))
    ran_out, held = quantity.plain(out), quantity.plain(stock)
    text = f"{ran_out} mL ran out after the filling of entry {start}, the reservoir held at most {held} mL"
    if out > stock + 1e-9:
        return Detail(subject, "not met", text, cites)
    silent = [name for name in visits if not any(one.pass_id == read_with(case, name) for one in readings)]
    if silent:
        missing = f"no entry of how much ran out at {listing(silent)}"
        opened = (visits[name].opened or 0 for name in silent)
        return Detail(subject, "no proof", f"{missing}; {text}" if readings else missing, (*cites, *opened))
    return Detail(subject, "met", text, cites)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(15, "reservoir", "Was the reservoir kept from running dry?", answer)]
