"""23: torqued and capped? For each nipple, after its last closing of each visit, one torque reading and one cap.

A nipple that was tightened again because a check was not right is torqued again, and so is one of which a part of its
own was replaced, also one that the job does not open; where nobody said which was tightened, each.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import SILENT, Case
from witnessmark.audit.grounds.asked import asked, is_how_it_ran, judge
from witnessmark.audit.grounds.mends import Mend, every_mend
from witnessmark.audit.grounds.sequence import Mark, closed, last, not_after
from witnessmark.audit.limits import inside, spell
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Act
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details
from witnessmark.procedure.model import Step


def answer(case: Case) -> Verdict:
    one = case.procedure
    each = (*one.steps_before_each_pass, *one.steps_after_each_pass)
    steps = [step for step in each if step.what == "torque"]
    torques = bool(steps) or any(nipple.torque for nipple in one.nipples)
    caps = asked(case, "capped", each_pass=True)
    if not torques and not caps:
        return does_not_apply("the procedure asks for neither torque nor caps")
    details: list[Detail] = []
    for pass_id, name in _visits(case):
        close = _close(case, pass_id, name)
        if torques:
            details.append(_torque(case, pass_id, name, close, steps))
        if caps:
            details.append(_cap(case, pass_id, name, close, caps[0]))
    return from_details(details, "each nipple was torqued within its limits and capped after each visit")


def lacking(case: Case, mend: Mend) -> tuple[str, ...]:
    """Return in words what is not shown of each nipple that a mend loosened or tightened: its torque, and its cap."""
    pairs = [(_visited(case, name, mend) or "", name) for name in _at(mend)]
    of = tuple(f"{case.visit(*pair)}, {what}" for pair in pairs for what in ("torque", "cap"))
    found = [one for one in answer(case).details if one.subject in of]
    return tuple(f"{one.subject}: {one.text}" for one in found if one.answer in ("not met", "no proof"))


def _visits(case: Case) -> list[tuple[str, str]]:
    """Return each nipple of each planned visit, each that was opened besides, and each that was only tightened."""
    planned = [(one.id, name) for one in case.plan for name in one.nipples]
    opened = [(one.pass_id, one.nipple) for one in case.timeline.openings]
    known = {name for _, name in (*planned, *opened)}
    only = [("", name) for one in every_mend(case) for name in _at(one) if name not in known]
    return list(dict.fromkeys([*planned, *opened, *only]))


def _close(case: Case, pass_id: str, name: str) -> Mark | None:
    """Return the last closing of the visit, or a tightening after it; None where the last opening has no closing."""
    openings = case.timeline.openings_of(name, pass_id)
    closings = [closed(one) for one in openings if one.closed is not None]
    mends = [one for one in every_mend(case) if name in _at(one) and pass_id == _visited(case, name, one)]
    if len(closings) < len(openings) or not (closings or mends):
        return None
    how = "it was tightened again" if mends and mends[-1].nipples else "it was mended" if mends else "it was closed"
    return last(case, [*closings, *(one.mark for one in mends)], how)


def _at(one: Mend) -> tuple[str, ...]:
    """Return the nipples that were tightened at a mend, or may have been, or the one whose own part was mended."""
    return one.nipples or (one.opened if len(one.opened) == 1 else ())


def _visited(case: Case, name: str, mend: Mend) -> str | None:
    """Return the visit whose torque holds no more after a mend: the last before it, where none came after it.

    It is of no pass where the nipple was never opened.
    """
    visits = [(one.opened or one.closed or 0, one.pass_id) for one in case.timeline.openings_of(name)]
    begun, pass_id = max(visits, default=(0, ""))
    return pass_id if begun < mend.act.seq else None


def _torque(case: Case, pass_id: str, name: str, close: Mark | None, steps: Sequence[Step]) -> Detail:
    subject = f"{case.visit(pass_id, name)}, torque"
    if close is None:
        return Detail(subject, "no proof", *case.no_closing(pass_id, name))
    nipples = ("", name) if len(case.nipples_of(pass_id)) == 1 else (name,)
    read = [one for one in case.timeline.readings("torque", pass_id or None) if one.nipple in nipples]
    after = [(one, not_after(case, close, one)) for one in read]
    readings = [one for one, sure in after if sure == "yes"]
    unsure = [one for one, sure in after if sure == "maybe"]
    if unsure:
        text = f"{unsure[-1].amount}; whether it was read after {close.name} is within the uncertainty of the times"
        return Detail(subject, "no proof", text, (close.seq, unsure[-1].seq))
    if not readings:
        skipped = _skipped(case, pass_id, name)
        if skipped:
            return Detail(subject, "not met", skipped[-1].why_not, (skipped[-1].seq,))
        silent = [seq for step in steps for seq in case.unwritten(step.id, pass_id, name)]
        said = f"the torque is {SILENT}" if silent else f"no torque read after {close.name}"
        return Detail(subject, "no proof", said, (close.seq, *silent))
    final = readings[-1]
    limit = case.nipple(name).torque or next((step.limit for step in steps), None)
    cites = (close.seq, final.seq)
    if limit is not None and not inside(final.amount, limit):
        return Detail(subject, "not met", f"{final.amount}, asked {spell(limit)}", cites)
    silent = [seq for step in steps for seq in case.unwritten(step.id, pass_id, name) if seq > final.seq]
    if silent:
        text = f"{final.amount}; what was read when it was asked again is {SILENT}"
        return Detail(subject, "no proof", text, (*cites, *silent))
    return Detail(subject, "met", f"{final.amount}" + (f", asked {spell(limit)}" if limit else ""), cites)


def _skipped(case: Case, pass_id: str, name: str) -> list[Act]:
    steps = {step.id: step for step in case.procedure.steps_after_each_pass if step.what == "torque"}
    acts = (act for act in case.acts_at(pass_id) if act.act == "skipped" and act.step in steps)
    return [act for act in acts if act.nipple in ("", name) and not is_how_it_ran(steps[act.step], act)]


def _cap(case: Case, pass_id: str, name: str, close: Mark | None, step: Step) -> Detail:
    subject = f"{case.visit(pass_id, name)}, cap"
    if close is None:
        return Detail(subject, "no proof", *case.no_closing(pass_id, name))
    return judge(case, step, "capped", after=close, pass_id=pass_id, nipple=name, subject=subject)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(23, "torque-cap", "Was each nipple torqued and capped?", answer)]
