"""35: was the pressure restored before each pass? A reading within the pass's band, not older than it may be.

Where a nipple of a pass was opened more than once, the pressure was restored before each time.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.grounds.feed import before, near, opened_again
from witnessmark.audit.grounds.sequence import may_precede, opened
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Opening
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, worst
from witnessmark.procedure.model import Pass
from witnessmark.range import FOREVER

UNSEEN = "no entry says when its nipple was opened"


def answer(case: Case) -> Verdict:
    asked = [one for one in case.plan if one.pressure]
    if not asked:
        return does_not_apply("the procedure asks for no pressure before a pass")
    return from_details([_pass(case, one) for one in asked], "the feed was read within its band before each pass")


def _pass(case: Case, one: Pass) -> Detail:
    """Judge each opening of a pass: the worst of them stands for it."""
    openings = case.timeline.openings_at(one.id)
    found = [_opening(case, one, opening) for opening in openings]
    if not found:
        return Detail(one.id, "no proof", UNSEEN)
    answer = worst(detail.answer for detail in found)
    decides = next(detail for detail in found if detail.answer == answer)
    return opened_again(case, one, list(zip(openings, found, strict=True)), decides)


def _opening(case: Case, one: Pass, opening: Opening) -> Detail:
    if opening.opened is None:
        return Detail(one.id, "no proof", UNSEEN)
    found = before(case, one, opening)
    stale = _fed_since(case, one, opening, found) if found.answer == "met" else None
    if stale is not None:
        return stale
    return Detail(one.id, found.answer, found.text, (opening.opened, *found.cites))


def _fed_since(case: Case, one: Pass, opening: Opening, found: Detail) -> Detail | None:
    """Say that fluid was let out after the reading that is the last before this pass; None when none was."""
    read = [gauge for gauge in near(case, opened(opening)) if gauge.seq in found.cites]
    since = min((one.at.low for one in read), default=FOREVER)
    for other in case.timeline.opened_at.within(since, opening.open.start.high):
        if other.pass_id == one.id or other.opened is None or not may_precede(case, opened(other), opened(opening)):
            continue
        if any(may_precede(case, reading, opened(other)) for reading in read):
            text = f"{found.text}; {case.nipple(other.nipple).name} was opened since, and it was not read again"
            return Detail(one.id, "no proof", text, tuple(sorted({*found.cites, other.opened, *opening.cites[:1]})))
    return None


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(35, "pressure-restored", "Was the pressure restored before each pass?", answer)]
