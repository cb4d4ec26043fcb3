"""8: opened before, with or after the run began, as the procedure says? Its own tolerance decides.

One that was perhaps shut again before the run began was perhaps not the one that the run had: it has no proof.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Set

from msgspec.structs import replace

from witnessmark.audit import say
from witnessmark.audit.case import Case, not_opened, time_ns
from witnessmark.audit.cited import spell
from witnessmark.audit.grounds.unopened import in_words, may_be_over, missed, over
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Actuation, Opening
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, from_sure
from witnessmark.procedure.model import Pass
from witnessmark.range import Range, Span, Sure, every


def answer(case: Case) -> Verdict:
    asked = [one for one in case.actuating if one.order]
    if not asked:
        return does_not_apply("the procedure does not say what opens first")
    details = [_nipple(case, one, name) for one in asked for name in one.nipples]
    return from_details(details, "each nipple was opened in the order and within the time that the procedure gives")


def _nipple(case: Case, one: Pass, name: str) -> Detail:
    subject = f"{one.id}, {case.nipple(name).name}"
    run = case.timeline.run_that_counts(one.id)
    if run is None or run.ran is None:
        cites = run.cites if run else ()
        return Detail(subject, "no proof", f"nothing says when {one.wire_command} began", cites)
    start = run.ran.start
    near = [opening for opening in case.timeline.open_in(run) if opening.nipple == name]
    openings = dict.fromkeys((*case.timeline.openings_of(name, one.id), *near))
    mine = sorted((one for one in openings if one.opened is not None and not over(case, one, run)), key=_place)
    if not mine:
        text, cues = in_words(case, run, name)
        return Detail(subject, "no proof", text, (*run.cites, *cues))
    nearest = _nearest(mine, start)
    unsure = any(may_be_over(case, opening, run) for opening in nearest)
    answers: set[Sure] = {"maybe"} if unsure else {_sure(one, opening, run.ran) for opening in nearest}
    if against := missed(case, run, name):
        cites = (*run.cites, *nearest[-1].cites[:1], *against)
        return Detail(subject, "no proof", f"{spell(nearest[-1].cites[:1])} opens it, and {not_opened(against)}", cites)
    judged = _judge(one, subject, nearest[-1], start, answers, run.cites)
    if judged.answer == "not met" and (unseen := _unseen(case, run, openings)):
        text = f"{spell(unseen)} closes it, and no entry says when it was opened for that"
        return Detail(subject, "no proof", text, (*judged.cites, *unseen))
    return replace(judged, text=f"{judged.text}; it may have been shut before the run began") if unsure else judged


def _unseen(case: Case, run: Actuation, openings: Iterable[Opening]) -> tuple[int, ...]:
    """Return the closings of which no entry says when it was opened, and which that run may have had."""
    return tuple(seq for one in openings if one.opened is None and not over(case, one, run) for seq in one.cites)


def _place(opening: Opening) -> int:
    return opening.opened or 0


def _nearest(openings: Sequence[Opening], start: Range) -> list[Opening]:
    """Return the opening nearest to the start of the run, or all that may be, as far as the times tell."""
    apart = [(opening, opening.open.start.minus(start).size()) for opening in openings]
    most = min(far.high for _, far in apart)
    return [opening for opening, far in apart if far.low <= most]


def _sure(one: Pass, opening: Opening, ran: Span) -> Sure:
    """Say whether it was opened as asked; one of another visit counts only where it was open while this run lasted."""
    if opening.pass_id != one.id and opening.open.meets(ran) != "yes":
        return "maybe"
    tolerance = time_ns(one.order_tolerance)
    later = opening.open.start.minus(ran.start)
    low = 0 if one.order == "after" else -tolerance
    high = 0 if one.order == "before" else tolerance
    return every(later.at_least(low), later.at_most(high))


def _judge(
    one: Pass, subject: str, opening: Opening, start: Range, answers: Set[Sure], cites: tuple[int, ...]
) -> Detail:
    later = opening.open.start.minus(start)
    how = "opened, and " if say.is_vague(later) else "opened "
    text = f"{how}{say.apart(later)} the run began, asked {one.order} it, at most {one.order_tolerance} apart"
    if opening.on_cue:
        text += "; opened on cue"
    sure: Sure = next(iter(answers)) if len(answers) == 1 else "maybe"
    return Detail(subject, from_sure(sure), text, (*cites, *opening.cites[:1]))


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(8, "opening-order", "Opened before, with or after the run, as the procedure says?", answer)]
