"""Readings that show whether it is safe to open anything: were they within their limits when a nipple was opened?

One job flows in, a detail for each such reading flows out. Rules that hold here: what was read last before an opening
counts for it; one outside its limits that was kept as it is, or behind which a nipple was opened, is not met, and is
named with what it read; one that was read again within its limits before anything opened is met.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import zip_longest

from msgspec import structs

from witnessmark.audit.case import Case
from witnessmark.audit.grounds import sequence
from witnessmark.audit.grounds.asked import first_open, judge
from witnessmark.audit.grounds.sequence import Mark
from witnessmark.audit.limits import inside, spell
from witnessmark.audit.timeline import Gauge, Opening
from witnessmark.audit.verdict import Detail
from witnessmark.procedure.model import Limit, Step
from witnessmark.procedure.safe import never_kept, safe_first
from witnessmark.procedure.steps import each_step


def read_safe(case: Case) -> list[Detail]:
    """Return how each reading stands that shows whether it is safe; nothing where the procedure asks for none."""
    first = safe_first(case.procedure)
    found: list[Detail] = []
    for path, step in each_step(case.procedure):
        if step.limit is None or not never_kept(case.procedure, step):
            continue
        for pass_id in _passes(case, str(path[0])):
            found += _read(case, step, step.limit, pass_id, first=step in first)
    return found


def _passes(case: Case, section: str) -> tuple[str, ...]:
    return tuple(one.id for one in case.plan) if section.endswith("_each_pass") else ("",)


def _read(case: Case, step: Step, limit: Limit, pass_id: str, *, first: bool) -> Iterator[Detail]:
    """Judge the readings of a step on a pass, or of one that is done once."""
    subject = " ".join(part for part in (pass_id, (step.what or step.id).replace("-", " ")) if part)
    gauges = [one for one in case.timeline.gauges if one.step == step.id and (not pass_id or one.pass_id == pass_id)]
    openings = case.timeline.openings_at(pass_id) if pass_id else case.timeline.openings
    wrong = False
    for one, after in zip_longest(gauges, gauges[1:]):
        if inside(one.amount, limit):
            continue
        text, cites = _what_came(case, step, one, after, openings)
        if text:
            wrong = True
            yield Detail(subject, "not met", f"it was {one.amount}, {spell(limit)}{text}", (one.seq, *cites))
    if wrong or not first or (pass_id and not openings and not gauges):
        return
    if gauges and not inside(gauges[-1].amount, limit) and not openings:
        text = f"it was {gauges[-1].amount}, {spell(limit)}, and no entry says that a nipple was opened"
        yield Detail(subject, "no proof", text, (gauges[-1].seq,))
        return
    yield _in_time(case, step, subject, pass_id, openings, gauges[-1] if gauges else None)


def _what_came(
    case: Case, step: Step, one: Gauge, after: Gauge | None, openings: tuple[Opening, ...]
) -> tuple[str, tuple[int, ...]]:
    """Return in words what came of a reading outside its limits until the next, and the entries; empty for nothing."""
    until = case.entries[-1].seq + 1 if after is None else after.seq
    opened = [(seq, each.nipple) for each in openings for seq in each.cites[:1] if one.seq < seq < until]
    kept = [
        act
        for act in case.acts_at(one.pass_id)
        if act.step == step.id and act.act in ("done", "confirmed") and one.seq < act.seq < until
    ]
    text = f"; {case.nipple(opened[0][1]).name} was opened all the same" if opened else ""
    text += f"; kept as it is: {kept[-1].said or 'no reason given'}" if kept else ""
    return text, (*(act.seq for act in kept), *(seq for seq, _ in opened[:1]))


def _in_time(
    case: Case, step: Step, subject: str, pass_id: str, openings: tuple[Opening, ...], last: Gauge | None
) -> Detail:
    """Say whether it was read before the first opening that it is to show as safe."""
    mark: Mark | str = first_open(case)
    if pass_id and openings:
        mark = sequence.first(case, [sequence.opened(one) for one in openings], "the nipple was opened")
    found = judge(case, step, before=mark if isinstance(mark, Mark) else None, pass_id=pass_id, subject=subject)
    if isinstance(mark, str) and found.answer == "met":
        return structs.replace(found, answer="no proof", text=mark)
    if found.answer == "met" and last is not None:
        return structs.replace(found, text=f"read: {last.amount}{found.text.removeprefix('done')}")
    return found
