"""20: was the link lost while a wire command ran? Then its end is not known, whatever it looked like."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit import ends, say
from witnessmark.audit.case import Case
from witnessmark.audit.missing import unrun
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.session import s3_ns
from witnessmark.audit.timeline import Actuation
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, no_proof
from witnessmark.journal import bodies

LOST = ("lost", "bus_off")


def answer(case: Case) -> Verdict:
    if not case.actuating and not case.timeline.actuations:
        return does_not_apply("no pass of this job runs a wire command")
    runs = [run for run in case.timeline.actuations if run.began != "no"]
    if not runs:
        return no_proof("no entry of a run")
    details = [*unrun(case), *(_run(case, run) for run in runs)]
    return from_details(details, "the link held through every run, and its end is known")


def _run(case: Case, run: Actuation) -> Detail:
    lost = [
        seq
        for seq, body in case.all_of(bodies.LinkEvent)
        if body.what in LOST and (body.actuation == run.seq or (body.actuation is None and _within(case, run, seq)))
    ]
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
    if run.keepalive is None:
        return Detail(run.subject, "no proof", "no entry of what kept the session alive", run.cites)
    gap = int(run.keepalive.largest_gap_ns)
    if gap > s3_ns(case):
        text = f"nothing kept the session alive for {say.seconds(gap)}: its end is not known"
        return Detail(run.subject, "no proof", text, run.cites)
    return Detail(run.subject, "met", "no loss of the link recorded", run.cites)


def _within(case: Case, run: Actuation, seq: int) -> bool:
    """Say whether an entry was made between the intent and the outcome of the run."""
    return run.seq < seq and (run.outcome_seq is None or seq < run.outcome_seq)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(20, "link", "Did the link hold while it ran?", answer)]
