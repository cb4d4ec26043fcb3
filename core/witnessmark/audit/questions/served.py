"""4: was every nipple served? The planned visits against the nipple openings; a step said to be skipped is not met.

An opening of which another entry says that it was not opened while its run lasted is no proof.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import MISSED, Case, not_opened
from witnessmark.audit.cited import spell
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.say import listing
from witnessmark.audit.unopened import contrary
from witnessmark.audit.verdict import Detail, Verdict, from_details
from witnessmark.audit.volumes import nothing_collected
from witnessmark.procedure.model import Pass


def answer(case: Case) -> Verdict:
    details = [_visit(case, one, name) for one in case.plan for name in one.nipples]
    said = listing(dict.fromkeys(case.nipple(name).name for one in case.plan for name in one.nipples))
    return from_details(details, f"every planned visit has its nipple opened and closed: {said}")


def _visit(case: Case, one: Pass, name: str) -> Detail:
    subject = f"{one.id}, {case.nipple(name).name}"
    openings = [opening for opening in case.timeline.openings_of(name, one.id) if opening.opened is not None]
    disputed = {opening: against for opening in openings if (against := contrary(case, opening))}
    whole = [opening for opening in openings if opening.closed is not None and opening not in disputed]
    if whole:
        nothing = nothing_collected(case, one.id, name)
        cites = (*whole[-1].cites, *nothing)
        if nothing:
            return Detail(subject, "no proof", "opened and closed, but nothing was collected: the two disagree", cites)
        return Detail(subject, "met", "opened and closed", cites)
    for act in case.left_out:
        if act.pass_id == one.id and act.nipple in ("", name) and not openings:
            why = f": {act.said}" if act.said else ""
            what = "not opened while it ran" if act.step == MISSED else "left out"
            return Detail(subject, "not met", f"{what}{why}", (act.seq,))
    if disputed:
        opening, against = next(reversed(disputed.items()))
        text = f"{spell(opening.cites[:1])} opens it, and {not_opened(against)}: the two disagree"
        return Detail(subject, "no proof", text, (*opening.cites, *against))
    if openings:
        return Detail(subject, "no proof", "opened, and no entry closes it", openings[-1].cites)
    return Detail(subject, "no proof", *case.no_opening(one.id, name))


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(4, "served", "Was every nipple served?", answer)]
