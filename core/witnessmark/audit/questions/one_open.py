"""10: were two nipples open at once? Pairwise, unless the procedure allows the two together or they are one visit.

One of which no entry says when it was opened, or when it was closed, was open for a time that nobody knows.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit import say
from witnessmark.audit.case import Case
from witnessmark.audit.cited import spell
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Opening
from witnessmark.audit.verdict import Detail, Verdict, from_details, no_proof
from witnessmark.range import FOREVER, overlap


def answer(case: Case) -> Verdict:
    openings = case.timeline.openings
    if not openings:
        return no_proof("no entry says that any nipple was opened")
    pairs = case.timeline.open_while.pairs()
    found = [detail for one, other in pairs if (detail := _pair(case, one, other)) is not None]
    found += [_half_written(case, one) for one in openings if None in (one.opened, one.closed)]
    found += [Detail(one.id, "no proof", "no entry says when its nipple was open") for one in case.untouched]
    if not found:
        cites = tuple(seq for one in openings for seq in one.cites)
        return Verdict("met", "no two nipples were open at once that may not be", (), cites)
    return from_details(found, "")


def _half_written(case: Case, one: Opening) -> Detail:
    said = "it was opened" if one.opened is None else "it was closed"
    if one.closed is None and (early := case.timeline.closed_early(one.nipple, one.pass_id)):
        said += f" after it was opened: {spell(early)} does before that"
    return Detail(case.visit(one.pass_id, one.nipple), "no proof", f"no entry says when {said}", one.cites)


def _pair(case: Case, one: Opening, other: Opening) -> Detail | None:
    """Return what is wrong with a pair, None for nothing."""
    if other.open.start.low > one.open.end.high or one.nipple == other.nipple or case.may_be_open_together(one, other):
        return None
    both = overlap(one.open, other.open)
    if both.high == 0:
        return None
    subject = f"{case.nipple(one.nipple).name} and {case.nipple(other.nipple).name}"
    cites = (*one.cites, *other.cites)
    if both.low > 0:
        return Detail(subject, "not met", f"open at once for {say.length(both)}", cites)
    unseen = both.high >= FOREVER // 2 or one.closed is None or other.closed is None
    most = "nobody recorded an end" if unseen else f"at most {say.seconds(both.high)}"
    return Detail(subject, "no proof", f"may have been open at once: {most}", cites)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(10, "one-open", "Was only one nipple open at a time?", answer)]
