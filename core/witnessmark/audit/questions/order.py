"""5: in the maker's order? The planned passes must be a subsequence of the openings; inversions are listed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations

from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.range import Range
from witnessmark.audit.timeline import Opening
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, no_proof

Later = Callable[[int, Range], "int | None"]
"""The moment from which the next pass may start if this opening is taken now, None when it cannot be."""


def answer(case: Case) -> Verdict:
    if len(case.plan) < 2:
        return does_not_apply("the scope has one pass, so there is no order")
    visits = [(one.id, _openings(case, one.id)) for one in case.plan]
    known = [(name, openings) for name, openings in visits if openings]
    missing = [name for name, openings in visits if not openings]
    cites = tuple(seq for _, openings in known for opening in openings for seq in opening.cites[:1])
    planned = ", ".join(name for name, _ in visits)
    if not _follows(known, _possibly):
        details = _inversions(known)
        pairs = "; ".join(detail.subject for detail in details)
        return Verdict("not met", f"planned {planned}; {pairs}", details, cites)
    if missing:
        return no_proof(f"no entry says when {', '.join(missing)} was opened", *cites)
    if not _follows(known, _surely):
        return no_proof(f"planned {planned}; the times of opening overlap within their uncertainty", *cites)
    return Verdict("met", f"opened in the planned order: {planned}", (), cites)


def _openings(case: Case, pass_id: str) -> list[Opening]:
    return [one for one in case.timeline.openings if one.pass_id == pass_id and one.opened is not None]


def _surely(since: int, start: Range) -> int | None:
    return start.high if start.low >= since else None


def _possibly(since: int, start: Range) -> int | None:
    return max(since, start.low) if start.high >= since else None


def _follows(visits: Sequence[tuple[str, Sequence[Opening]]], later: Later) -> bool:
    """Take for each pass the opening that leaves most room for the rest."""
    since = -(1 << 62)
    for _, openings in visits:
        moments = [moment for one in openings if (moment := later(since, one.open.start)) is not None]
        if not moments:
            return False
        since = min(moments)
    return True


def _inversions(visits: Sequence[tuple[str, Sequence[Opening]]]) -> tuple[Detail, ...]:
    """Name each pass whose openings were all surely before an earlier planned pass was first opened."""
    found = []
    for (first, earlier), (second, later) in combinations(visits, 2):
        if all(b.open.start.high < a.open.start.low for a in earlier for b in later):
            cites = tuple(seq for one in (*later, *earlier) for seq in one.cites[:1])
            found.append(Detail(f"{second} was opened before {first}", "not met", "against the planned order", cites))
    return tuple(found) or (Detail("no choice of openings fits the planned order", "not met", ""),)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(5, "order", "In the maker's order?", answer)]
