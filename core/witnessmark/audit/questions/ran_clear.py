"""33: did it run clear? Said for each nipple of each visit that asks for it, and not before it was opened."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.asked import asked, judge
from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.sequence import last
from witnessmark.audit.sequence import opened as opened_at
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details
from witnessmark.audit.volumes import nothing_collected
from witnessmark.procedure.model import Pass, Step


def answer(case: Case) -> Verdict:
    steps = asked(case, "clear", each_pass=True)
    visits = [one for one in case.plan if one.clear]
    if not steps or not visits:
        return does_not_apply("the procedure asks nowhere whether the fluid ran clear")
    details = [_nipple(case, steps[0], one, name) for one in visits for name in one.nipples]
    return from_details(details, "said to have run clear and without bubbles at each nipple")


def _nipple(case: Case, step: Step, one: Pass, name: str) -> Detail:
    subject = f"{one.id}, {case.nipple(name).name}"
    opened = [opening for opening in case.timeline.openings_of(name, one.id) if opening.opened is not None]
    if not opened:
        return Detail(subject, "no proof", *case.no_opening(one.id, name))
    since = last(case, [opened_at(one) for one in opened], "it was opened")
    said = judge(case, step, "clear", after=since, pass_id=one.id, nipple=name, subject=subject)
    nothing = nothing_collected(case, one.id, name)
    if said.answer == "met" and nothing:
        text = "said to have run clear, but nothing was collected: the two disagree"
        return Detail(subject, "no proof", text, (*said.cites, *nothing))
    return said


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(33, "ran-clear", "Did it run clear at each nipple?", answer)]
