"""33: did it run clear? Said for each nipple of each visit that asks for it, and not before it was opened.

What was looked at and not right stays so, also where nobody knows when the nipple was opened, and whoever went on. What
was said before the line of the nipple was opened for a mend says nothing of how it ran since.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from witnessmark.audit.case import Case
from witnessmark.audit.fluid.volumes import nothing_collected
from witnessmark.audit.grounds.asked import asked, done, judge
from witnessmark.audit.grounds.mends import every_mend
from witnessmark.audit.grounds.sequence import last
from witnessmark.audit.grounds.sequence import opened as opened_at
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Act
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details
from witnessmark.procedure import own
from witnessmark.procedure.model import Pass, Step

GONE_ON = own.ACCEPT
"""The step by which a person says that a pass stays as it was."""


def answer(case: Case) -> Verdict:
    steps = asked(case, "clear", each_pass=True)
    visits = [one for one in case.plan if one.clear]
    if not steps or not visits:
        return does_not_apply("the procedure asks nowhere whether the fluid ran clear")
    details = [_nipple(case, steps[0], one, name) for one in visits for name in one.nipples]
    return from_details(details, "said to have run clear and without bubbles at each nipple")


def _nipple(case: Case, step: Step, one: Pass, name: str) -> Detail:
    subject = f"{one.id}, {case.nipple(name).name}"
    openings = case.timeline.openings_of(name, one.id)
    opened = [opening for opening in openings if opening.opened is not None]
    if not opened:
        text, cites = case.no_opening(one.id, name)
        seen = _seen(case, step, one.id, name)
        if seen is not None:
            text, cites = f"{seen.why_not}; {text}", (seen.seq, *cites)
        return _gone_on(case, Detail(subject, "no proof" if seen is None else "not met", text, cites), one.id)
    since = last(case, [opened_at(one) for one in opened], "it was opened")
    said = judge(case, step, "clear", after=since, pass_id=one.id, nipple=name, subject=subject)
    if said.answer == "met" and len(opened) < len(openings):
        text = "said to have run clear; of one time that it was closed no entry says that it was opened"
        return Detail(subject, "no proof", text, tuple(seq for opening in openings for seq in opening.cites))
    nothing = nothing_collected(case, one.id, name)
    if said.answer == "met" and nothing:
        text = "said to have run clear, but nothing was collected: the two disagree"
        return Detail(subject, "no proof", text, (*said.cites, *nothing))
    mended = [mend for mend in every_mend(case) if name in mend.opened and mend.act.seq > max(said.cites, default=0)]
    if said.answer == "met" and mended:
        seq = mended[-1].act.seq
        text = f"said to have run clear before its line was opened for a mend, or may have been (entry {seq})"
        return Detail(subject, "no proof", text, (*said.cites, seq))
    return _gone_on(case, said, one.id)


def _seen(case: Case, step: Step, pass_id: str, nipple: str) -> Act | None:
    """Return the last look at how it ran, where that says that it was not right."""
    looks = done(case, step, "clear", pass_id=pass_id, nipple=nipple)
    return looks[-1] if looks and looks[-1].looked else None


def _gone_on(case: Case, said: Detail, pass_id: str) -> Detail:
    """Return what is said with who went on after what was seen, where somebody did."""
    looks = [act.seq for act in case.acts_at(pass_id) if act.looked and act.seq in said.cites]
    went = [act for act in case.timeline.said(GONE_ON, pass_id) if looks and act.seq > looks[-1]]
    if said.answer != "not met" or not went:
        return said
    why = f": {went[-1].said}" if went[-1].said else ""
    text = f"{said.text}; accepted by {went[-1].done_by.partition(':')[2]}{why}"
    return replace(said, text=text, cites=(*said.cites, went[-1].seq))


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(33, "ran-clear", "Did it run clear at each nipple?", answer)]
