"""4: was every nipple served? The planned visits against the nipple openings; a step said to be skipped is not met.

An opening of which another entry says that it was not opened while its run lasted is no proof, nor is one that was over
before the run of its pass began: the wire command ran with the nipple shut, as far as the record goes. Nor is there
proof where it was opened more than once and one time has only one end: then nobody knows what was done at it last.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import MISSED, Case, not_opened
from witnessmark.audit.cited import spell
from witnessmark.audit.fluid.volumes import nothing_collected
from witnessmark.audit.grounds.unopened import contrary, in_words, may_be_shut_before, missed, shut_before
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.say import listing
from witnessmark.audit.verdict import Answer, Detail, Verdict, from_details
from witnessmark.procedure.model import Pass


def answer(case: Case) -> Verdict:
    details = [_visit(case, one, name) for one in case.plan for name in one.nipples]
    said = listing(dict.fromkeys(case.nipple(name).name for one in case.plan for name in one.nipples))
    return from_details(details, f"every planned visit has its nipple opened and closed: {said}")


def _visit(case: Case, one: Pass, name: str) -> Detail:
    subject = f"{one.id}, {case.nipple(name).name}"
    every = case.timeline.openings_of(name, one.id)
    openings = [opening for opening in every if opening.opened is not None]
    disputed = {opening: against for opening in openings if (against := contrary(case, opening))}
    whole = [opening for opening in openings if opening.closed is not None and opening not in disputed]
    if whole and (not_run := _not_while_it_ran(case, one, name, subject)) is not None:
        return not_run
    if whole and (unended := [opening for opening in openings if opening.closed is None]):
        text, silent = case.no_closing(one.id, name)
        text = f"opened {len(openings)} times; of one of them {text}"
        return Detail(subject, "no proof", text, (*whole[-1].cites, *unended[-1].cites, *silent))
    if whole and len(openings) < len(every):
        text = f"closed {len(every)} times; of one of them no entry says that it was opened"
        return Detail(subject, "no proof", text, tuple(seq for opening in every for seq in opening.cites))
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
        text, silent = case.no_closing(one.id, name)
        text = f"opened, and {text if silent else 'no entry closes it'}"
        return Detail(subject, "no proof", text, (*openings[-1].cites, *silent))
    return Detail(subject, "no proof", *case.no_opening(one.id, name))


def _not_while_it_ran(case: Case, one: Pass, name: str, subject: str) -> Detail | None:
    """Return what is to be said of a nipple that was shut again before the run that its pass is judged by; else None.

    Its fluid ran without the wire command that its pass asks for.
    """
    run = case.timeline.run_that_counts(one.id) if one.wire_command else None
    if run is None or run.ran is None:
        return None
    if shut_before(case, run, name) is None:
        lasted = (opening for opening in case.timeline.open_in(run) if opening.nipple == name)
        if not may_be_shut_before(case, run, name) or any(one.open.meets(run.ran) == "yes" for one in lasted):
            return None
        text = "opened, and perhaps shut again before the run began; no entry opens it after that"
        return Detail(subject, "no proof", text, run.cites)
    text, cites = in_words(case, run, name)
    answer: Answer = "not met" if missed(case, run, name) else "no proof"
    return Detail(subject, answer, f"opened, {text}", (*run.cites, *cites))


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(4, "served", "Was every nipple served?", answer)]
