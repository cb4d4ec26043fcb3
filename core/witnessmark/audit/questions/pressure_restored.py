"""35: was the pressure restored before each pass? A reading within the pass's band, not older than it may be."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.feed import before
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details
from witnessmark.procedure.model import Pass


def answer(case: Case) -> Verdict:
    asked = [one for one in case.plan if one.pressure]
    if not asked:
        return does_not_apply("the procedure asks for no pressure before a pass")
    return from_details([_pass(case, one) for one in asked], "the feed was read within its band before each pass")


def _pass(case: Case, one: Pass) -> Detail:
    openings = [opening for opening in case.timeline.openings if opening.pass_id == one.id]
    if not openings or openings[0].opened is None:
        return Detail(one.id, "no proof", "no entry says when its nipple was opened")
    found = before(case, one, openings[0])
    return Detail(one.id, found.answer, found.text, (openings[0].opened, *found.cites))


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(35, "pressure-restored", "Was the pressure restored before each pass?", answer)]
