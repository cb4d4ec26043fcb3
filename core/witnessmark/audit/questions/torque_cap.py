"""23: torqued and capped? For each nipple, after its last closing of each visit, one torque reading and one cap."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from witnessmark.audit.asked import Mark, asked, judge
from witnessmark.audit.case import Case
from witnessmark.audit.limits import inside, spell
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details
from witnessmark.procedure.model import Pass


def answer(case: Case) -> Verdict:
    one = case.procedure
    each = (*one.steps_before_each_pass, *one.steps_after_each_pass)
    torques = any(step.what == "torque" for step in each) or any(nipple.torque for nipple in one.nipples)
    caps = asked(case, "capped", each_pass=True)
    if not torques and not caps:
        return does_not_apply("the procedure asks for neither torque nor caps")
    details: list[Detail] = []
    for visit in case.plan:
        for name in visit.nipples:
            if torques:
                details.append(_torque(case, visit, name))
            details += [_cap(case, visit, name)] if caps else []
    return from_details(details, "each nipple was torqued within its limits and capped after each visit")


def _close(case: Case, visit: Pass, name: str) -> Mark | None:
    closed = [one for one in case.timeline.openings_of(name, visit.id) if one.closed is not None]
    return Mark(closed[-1].open.end, closed[-1].closed or 0, "it was closed") if closed else None


def _torque(case: Case, visit: Pass, name: str) -> Detail:
    subject = f"{visit.id}, {case.nipple(name).name}, torque"
    close = _close(case, visit, name)
    if close is None:
        return Detail(subject, "no proof", "no entry says that it was closed")
    skipped = list(_skipped(case, visit, name))
    readings = [
        one
        for one in case.timeline.readings("torque")
        if one.pass_id == visit.id
        and one.nipple in ("", name)
        and close.at.before(one.at) != "no"
        and one.seq >= close.seq
    ]
    if not readings:
        if skipped:
            return Detail(subject, "not met", f"left out: {skipped[-1][1] or 'no reason given'}", (skipped[-1][0],))
        return Detail(subject, "no proof", "no torque read after it was closed", (close.seq,))
    last, limit = readings[-1], case.nipple(name).torque
    cites = (close.seq, last.seq)
    if limit is not None and not inside(last.amount, limit):
        return Detail(subject, "not met", f"{last.amount}, asked {spell(limit)}", cites)
    return Detail(subject, "met", f"{last.amount}" + (f", asked {spell(limit)}" if limit else ""), cites)


def _skipped(case: Case, visit: Pass, name: str) -> Iterator[tuple[int, str]]:
    steps = {step.id for step in case.procedure.steps_after_each_pass if step.what == "torque"}
    for act in case.timeline.acts:
        if act.act == "skipped" and act.step in steps and act.pass_id == visit.id and act.nipple in ("", name):
            yield act.seq, act.said


def _cap(case: Case, visit: Pass, name: str) -> Detail:
    subject = f"{visit.id}, {case.nipple(name).name}, cap"
    close = _close(case, visit, name)
    if close is None:
        return Detail(subject, "no proof", "no entry says that it was closed")
    step = asked(case, "capped", each_pass=True)[0]
    return judge(case, step, after=close, pass_id=visit.id, nipple=name, subject=subject)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(23, "torque-cap", "Was each nipple torqued and capped?", answer)]
