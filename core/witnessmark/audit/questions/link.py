"""20: was the link lost while a wire command ran? Then its end is not known, whatever it looked like."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence

from witnessmark.audit import ends, say
from witnessmark.audit.case import Case
from witnessmark.audit.grounds import unheard
from witnessmark.audit.grounds.missing import half_recorded, unrun
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.session import s3_ns
from witnessmark.audit.timeline import Actuation, by
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, no_proof
from witnessmark.journal import bodies

LOST = ("lost", "bus_off")


def answer(case: Case) -> Verdict:
    if not case.actuating and not case.timeline.actuations:
        return does_not_apply("no pass of this job runs a wire command")
    runs = [run for run in case.timeline.actuations if run.began != "no"]
    if not runs:
        return no_proof("no entry of a run")
    lost, looked = _lost(case), dict(_looked(case))
    details = [
        *unrun(case),
        *half_recorded(case),
        *(_run(case, run, lost, looked) for run in runs),
        *unheard.around_the_work(case),
    ]
    return from_details(details, "the link held through every run, and its end is known")


def _lost(case: Case) -> dict[int | None, tuple[int, ...]]:
    """Return the entries of each loss, by the number of the run they name, None for those that name none."""
    found = ((body.actuation, seq) for seq, body in case.all_of(bodies.LinkEvent) if body.what in LOST)
    return {run: tuple(seq for _, seq in group) for run, group in by(found, lambda one: one[0]).items()}


def _looked(case: Case) -> Iterator[tuple[int, tuple[int, bool]]]:
    """Yield for each look after a run its entry, and whether it was found at rest: the last one counts."""
    return ((body.actuation, (seq, body.safe)) for seq, body in case.all_of(bodies.Inspection))


def _run(
    case: Case, run: Actuation, losses: Mapping[int | None, Sequence[int]], looked: Mapping[int, tuple[int, bool]]
) -> Detail:
    lost = sorted((*losses.get(run.seq, ()), *_within(run, losses.get(None, ()))))
    unseen = ends.spell(run)
    if lost:
        text = f"the link was lost while it ran: {unseen or 'its end is not known'}"
        return Detail(run.subject, "not met", text, (*run.cites, *lost))
    if run.outcome is None:
        text = f"its record breaks off: {unseen}" if unseen else "no entry says whether it ran, nor how it ended"
        return Detail(run.subject, "no proof", text, run.cites)
    if run.grade == "told":
        return Detail(run.subject, "no proof", "a person told of this run; nobody recorded the link", run.cites)
    if run.outcome.result == "unknown" or run.ran is None or unseen:
        return Detail(run.subject, "no proof", unseen or "its end is not known", run.cites)
    seq, safe = looked.get(run.seq, (run.seq, True))
    if not safe:
        return Detail(run.subject, "no proof", "who looked last after it did not find it safe", (*run.cites, seq))
    if run.keepalive is None:
        return Detail(run.subject, "no proof", "no entry of what kept the session alive", run.cites)
    gap = int(run.keepalive.largest_gap_ns)
    if gap > s3_ns(case.opened.map):
        text = f"nothing kept the session alive for {say.seconds(gap)}: its end is not known"
        return Detail(run.subject, "no proof", text, run.cites)
    return Detail(run.subject, "met", "no loss of the link recorded", run.cites)


def _within(run: Actuation, seqs: Sequence[int]) -> Sequence[int]:
    """Return which of the entries, in their order, were made between the intent and the outcome of the run."""
    end = len(seqs) if run.outcome_seq is None else bisect_left(seqs, run.outcome_seq)
    return seqs[bisect_right(seqs, run.seq) : end]


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(20, "link", "Did the link hold while it ran?", answer)]
