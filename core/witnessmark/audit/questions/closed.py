"""9: was a nipple left open? Each must be closed before the next visit begins and before the feed is let off.

How soon after its run a nipple is to be closed no standard says, nor a procedure: how long it stayed open after that is
told, and judged by nobody here.
One that was said to stay open while the job was paused was left open; one that was shut soon after it was not, and the
pause is named all the same. Opened and closed alone prove nothing where it
was open for too long, while the job lay, or when the reservoir may have run empty: the rule, and how long is too long,
is in `unwatched` (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from witnessmark.audit import say
from witnessmark.audit.case import Case
from witnessmark.audit.grounds import unwatched
from witnessmark.audit.grounds.sequence import closed, not_after, opened, while_open
from witnessmark.audit.grounds.unwatched import Unwatched
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Actuation, Opening
from witnessmark.audit.verdict import Answer, Detail, Verdict, from_details, no_proof
from witnessmark.journal.bodies import State
from witnessmark.range import Range, Sure, every

PAUSED = "it was open when the job was paused"


def answer(case: Case) -> Verdict:
    openings = case.timeline.openings
    if not openings:
        return no_proof("no entry says that any nipple was opened")
    watch, after = unwatched.of(case), _after_runs(case)
    details = [_closed(case, watch, one, after.get(one)) for one in openings]
    details += [Detail(one.id, "no proof", "no entry says that its nipple was opened") for one in case.untouched]
    paused = [f"{part.subject}: {part.text}" for part in details if part.answer == "met" and PAUSED in part.text]
    fine = "every nipple was closed before the next visit"
    cites: tuple[int, ...] = ()
    if any(late.high > 0 for late, _ in after.values()):
        one, (late, run) = max(after.items(), key=lambda each: each[1][0].high)
        cites = _told(run)
        fine += f", at the latest {say.seconds(late.high)} after its run ({one.pass_id})"
    verdict = from_details(details, "; ".join([fine, *paused]))
    return replace(verdict, cites=cites) if verdict.answer == "met" else verdict


def _told(run: Actuation) -> tuple[int, ...]:
    """Return the entries of a run that a person told of; what the wire says of one is under its own questions."""
    return run.cites if run.grade == "told" else ()


def _after_runs(case: Case) -> dict[Opening, tuple[Range, Actuation]]:
    """Return how long each nipple stayed open after the last run of its pass that it was open in, with that run."""
    found: dict[Opening, tuple[Range, Actuation]] = {}
    for run in case.timeline.actuations:
        for one in case.timeline.open_in(run):
            if run.ran is None or one.closed is None or one.pass_id != run.pass_id:
                continue
            late = one.open.end.minus(run.ran.end)
            if one not in found or late < found[one][0]:
                found[one] = late, run
    return {one: each for one, each in found.items() if not say.is_vague(each[0])}


def _closed(case: Case, watch: Unwatched, one: Opening, after: tuple[Range, Actuation] | None) -> Detail:
    subject = case.visit(one.pass_id, one.nipple)
    if (left := watch.left(one)) is not None and left[0] != "no":
        may = "was" if left[0] == "yes" else "may have been"
        text = f"it {may} left open while the job was paused, as was said"
        return Detail(subject, _ANSWERS[left[0]], text, (*one.cites, left[1].seq))
    if one.closed is None:
        text, silent = case.no_closing(one.pass_id, one.nipple)
        return Detail(subject, "no proof", text if silent else "no entry closes it", (*one.cites, *silent))
    if one.opened is None:
        return Detail(subject, "no proof", "no entry says when it was opened", one.cites)
    for act in case.fed_at.within(*one.open.possible):
        sure = "no" if act.affects == "pressurise" else while_open(case, one, act)
        if sure != "no":
            may = "was" if sure == "yes" else "may have been"
            text = f"the feed {may} let off before it was closed"
            return Detail(subject, _ANSWERS[sure], text, (*one.cites, act.seq))
    for other in case.timeline.opened_at.within(*one.open.possible):
        if other is one or other.opened is None or case.may_be_open_together(one, other):
            continue
        if "yes" in (not_after(case, opened(other), opened(one)), not_after(case, closed(one), opened(other))):
            continue
        sure = every(not_after(case, opened(one), opened(other)), other.open.start.before(one.open.end))
        may = "was" if sure == "yes" else "may have been"
        text = f"{case.nipple(other.nipple).name} {may} opened before it was closed"
        return Detail(subject, _ANSWERS[sure], text, (*one.cites, other.opened))
    if (why := watch.open_too_long(one)) is not None:
        return Detail(subject, "no proof", why[0], (*one.cites, *why[1]))
    pause = next((seq for seq, body in case.all_of(State) if body.state == "paused" and _holds(one, seq)), None)
    if pause is None and after is not None and say.has_length(after[0].low):
        late, run = after
        text = f"closed, {say.length(late)} after its run had ended"
        return Detail(subject, "met", text, (*one.cites, *_told(run)))
    if pause is None:
        return Detail(subject, "met", "closed", one.cites)
    told = left[1].seq if left is not None else pause
    said = ", as was said" if left is not None else ""
    text = f"closed, {say.length(one.open.length())} after it was opened; {PAUSED}{said}"
    return Detail(subject, "met", text, tuple(dict.fromkeys((*one.cites, pause, told))))


def _holds(one: Opening, seq: int) -> bool:
    """Whether an entry was made after a nipple was opened and before it was closed."""
    return one.opened is not None and one.closed is not None and one.opened < seq < one.closed


_ANSWERS: dict[Sure, Answer] = {"yes": "not met", "maybe": "no proof"}


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(9, "closed", "Was every nipple closed before the next visit?", answer)]
