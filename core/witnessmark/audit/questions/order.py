"""5: in the maker's order? The planned passes must be a subsequence of the openings; inversions are listed.

What was bled again for a mend, or taken in, is a round of its own, judged among itself by the procedure's order. Of a
pass that was done again within a round what came of it counts: where only what was done before that stood in the order,
there is no proof.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import combinations, product

from witnessmark.audit.case import Case
from witnessmark.audit.grounds.rounds import Round, Visits, rounds
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Opening
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, no_proof, worst
from witnessmark.range import Range

Later = Callable[[int, Range], "int | None"]
"""The moment from which the next pass may start if this opening is taken now, None when it cannot be."""


def answer(case: Case) -> Verdict:
    if len(case.plan) < 2:
        return does_not_apply("the scope has one pass, so there is no order")
    first, *later = (_round(one) for one in rounds(case))
    if not later:
        return replace(first, text=f"opened {first.text}") if first.answer == "met" else first
    found = [replace(first, text=f"first round{' ' if first.answer == 'met' else ': '}{first.text}"), *later]
    details = tuple(detail for one in found for detail in one.details)
    cites = tuple(seq for one in found for seq in one.cites)
    return Verdict(worst(one.answer for one in found), "; ".join(one.text for one in found), details, cites)


def _round(one: Round) -> Verdict:
    """Judge a round among itself; a later one is told by its name."""
    found = _judge(one.visits, one.name)
    if found.answer != "met" or not one.again:
        return found
    last = _judge([(name, [_since(one, name, each) for each in openings]) for name, openings in one.visits], one.name)
    if last.answer == "met":
        return last
    said = "; ".join(f"{name}, entry {seq}" for name, seq in one.again.items())
    text = f"{found.text}, as first done; with what was to be done again ({said}): {last.text}"
    return no_proof(text, *found.cites, *last.cites, *one.again.values())


def _since(one: Round, pass_id: str, openings: Sequence[Opening]) -> Sequence[Opening]:
    """Return the openings since a pass was last to be done again; all of them where there are none."""
    since = one.again.get(pass_id, -1)
    return [each for each in openings if (each.opened or 0) > since] or openings


def _judge(visits: Visits, name: str) -> Verdict:
    known = [(name, [openings for openings in each if openings]) for name, each in visits]
    missing = [name for name, each in visits if not all(each)]
    cites = tuple(seq for _, each in known for openings in each for opening in openings for seq in opening.cites[:1])
    planned = name or f"planned {', '.join(name for name, _ in visits)}"
    order = "the procedure's order" if name else "the planned order"
    if not _follows(known, _possibly):
        details = _inversions(known, order)
        pairs = "; ".join(detail.subject for detail in details)
        return Verdict("not met", f"{planned}; {pairs}{', against ' + order if name else ''}", details, cites)
    if missing:
        said = f"no entry says when {', '.join(missing)} was opened"
        return no_proof(f"{name}; {said}" if name else said, *cites)
    if not _follows(known, _surely):
        return no_proof(f"{planned}; the times of opening overlap within their uncertainty", *cites)
    return Verdict("met", name or f"in {order}: {', '.join(name for name, _ in visits)}", (), cites)


def _surely(since: int, start: Range) -> int | None:
    return start.high if start.low >= since else None


def _possibly(since: int, start: Range) -> int | None:
    return max(since, start.low) if start.high >= since else None


def _follows(visits: Visits, later: Later) -> bool:
    """Take for each nipple of a pass the opening that leaves most room for the passes after it."""
    since = -(1 << 62)
    for _, each in visits:
        taken = []
        for openings in each:
            moments = [moment for one in openings if (moment := later(since, one.open.start)) is not None]
            if not moments:
                return False
            taken.append(min(moments))
        since = max([since, *taken])
    return True


def _inversions(visits: Visits, order: str) -> tuple[Detail, ...]:
    """Name each pass of which a nipple was surely opened only before one of an earlier planned pass first was."""
    found = []
    for (first, earlier), (second, later) in combinations(visits, 2):
        for before, after in product(earlier, later):
            if all(b.open.start.high < a.open.start.low for a in before for b in after):
                cites = tuple(seq for one in (*after, *before) for seq in one.cites[:1])
                subject = f"{second} was opened before {first}"
                found.append(Detail(subject, "not met", f"against {order}", cites))
                break
    return tuple(found) or (Detail(f"no choice of openings fits {order}", "not met", ""),)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(5, "order", "In the maker's order?", answer)]
