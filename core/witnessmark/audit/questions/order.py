"""5: in the maker's order? The planned passes must be a subsequence of the openings; inversions are listed.

Of a pass that was done again what came of it counts: where only what was done before that stood in the planned order,
there is no proof.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations, product

from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.range import Range
from witnessmark.audit.timeline import Opening
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, no_proof

Later = Callable[[int, Range], "int | None"]
"""The moment from which the next pass may start if this opening is taken now, None when it cannot be."""

Visits = Sequence[tuple[str, Sequence[Sequence[Opening]]]]
"""The passes in their order, each with the openings of each of its nipples."""


def answer(case: Case) -> Verdict:
    if len(case.plan) < 2:
        return does_not_apply("the scope has one pass, so there is no order")
    every = [(one.id, [_openings(case, one.id, name) for name in one.nipples]) for one in case.plan]
    added = [one.id for one in case.added]
    found, again = _judge(every, added), case.timeline.again.items()
    if found.answer != "met" or not again:
        return found
    last = _judge([(name, [_done_again(case, name, one) for one in each]) for name, each in every], added)
    if last.answer == "met":
        return last
    said = "; ".join(f"{name}, entry {seq}" for name, seq in again)
    text = f"in the planned order as first done; with what was to be done again ({said}): {last.text}"
    return no_proof(text, *found.cites, *last.cites, *(seq for _, seq in again))


def _done_again(case: Case, pass_id: str, openings: Sequence[Opening]) -> Sequence[Opening]:
    """Return the openings since a pass was last to be done again; all of them where there are none."""
    since = case.timeline.again.get(pass_id, -1)
    return [one for one in openings if (one.opened or 0) > since] or openings


def _judge(visits: Visits, added: Sequence[str]) -> Verdict:
    known = [(name, [openings for openings in each if openings]) for name, each in visits]
    missing = [name for name, each in visits if not all(each)]
    cites = tuple(seq for _, each in known for openings in each for opening in openings for seq in opening.cites[:1])
    planned = ", ".join(name for name, _ in visits if name not in added)
    planned += f", and {', '.join(added)} taken in for a mend" if added else ""
    if not _follows(known, _possibly):
        details = _inversions(known)
        pairs = "; ".join(detail.subject for detail in details)
        return Verdict("not met", f"planned {planned}; {pairs}", details, cites)
    if missing:
        return no_proof(f"no entry says when {', '.join(missing)} was opened", *cites)
    if not _follows(known, _surely):
        return no_proof(f"planned {planned}; the times of opening overlap within their uncertainty", *cites)
    return Verdict("met", f"opened in the planned order: {planned}", (), cites)


def _openings(case: Case, pass_id: str, nipple: str) -> list[Opening]:
    return [one for one in case.timeline.openings_of(nipple, pass_id) if one.opened is not None]


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


def _inversions(visits: Visits) -> tuple[Detail, ...]:
    """Name each pass of which a nipple was surely opened only before one of an earlier planned pass first was."""
    found = []
    for (first, earlier), (second, later) in combinations(visits, 2):
        for before, after in product(earlier, later):
            if all(b.open.start.high < a.open.start.low for a in before for b in after):
                cites = tuple(seq for one in (*after, *before) for seq in one.cites[:1])
                subject = f"{second} was opened before {first}"
                found.append(Detail(subject, "not met", "against the planned order", cites))
                break
    return tuple(found) or (Detail("no choice of openings fits the planned order", "not met", ""),)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(5, "order", "In the maker's order?", answer)]
