"""9: was a nipple left open? Each must be closed before the next visit begins and before the feed is let off."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Opening
from witnessmark.audit.verdict import Detail, Verdict, from_details, no_proof


def answer(case: Case) -> Verdict:
    openings = case.timeline.openings
    if not openings:
        return no_proof("no entry says that any nipple was opened")
    details = [_closed(case, one) for one in openings]
    details += [Detail(one.id, "no proof", "no entry says that its nipple was opened") for one in case.untouched]
    return from_details(details, "every nipple was closed before the next visit")


def _closed(case: Case, one: Opening) -> Detail:
    subject = f"{one.pass_id}, {case.nipple(one.nipple).name}"
    if one.closed is None:
        return Detail(subject, "no proof", "no entry closes it", one.cites)
    if one.opened is None:
        return Detail(subject, "no proof", "no entry says when it was opened", one.cites)
    for act in case.feed_acts:
        if act.affects == "pressurise" or act.seq <= one.opened:
            continue
        if act.at.high < one.open.end.low:
            return Detail(subject, "not met", "the feed was let off before it was closed", (*one.cites, act.seq))
        if act.at.low < one.open.end.high and act.seq < one.closed:
            text = "the feed may have been let off before it was closed"
            return Detail(subject, "no proof", text, (*one.cites, act.seq))
    for other in case.timeline.openings:
        allowed = case.may_be_open_together(one, other)
        if allowed or other.opened is None or other.opened < one.opened:
            continue
        if other.open.start.high < one.open.end.low:
            text = f"{case.nipple(other.nipple).name} was opened before it was closed"
            return Detail(subject, "not met", text, (*one.cites, other.opened))
        if other.open.start.low < one.open.end.high and other.opened < one.closed:
            text = f"{case.nipple(other.nipple).name} may have been opened before it was closed"
            return Detail(subject, "no proof", text, (*one.cites, other.opened))
    return Detail(subject, "met", "closed", one.cites)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(9, "closed", "Was every nipple closed again in time?", answer)]
