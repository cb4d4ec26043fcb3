"""22: was the session kept alive? The largest gap between two signs of life in each run, against S3 (ISO 14229-2)."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit import say
from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.session import s3_ns
from witnessmark.audit.timeline import Actuation
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, no_proof


def answer(case: Case) -> Verdict:
    if not case.actuating:
        return does_not_apply("no pass of this job runs a wire command")
    runs = [run for run in case.timeline.actuations if run.began == "yes"]
    if not runs:
        return no_proof("no entry of a run that began")
    return from_details([_run(case, run) for run in runs], "every session was kept alive through its run")


def _run(case: Case, run: Actuation) -> Detail:
    s3 = s3_ns(case)
    if run.keepalive is None:
        return Detail(run.pass_id, "no proof", "no entry of what kept the session alive", run.cites)
    gap = int(run.keepalive.largest_gap_ns)
    text = f"{run.keepalive.count} signs of life, largest gap {say.seconds(gap)}, S3 {say.seconds(s3)}"
    cites = (*run.cites, run.keepalive_seq or run.seq)
    return Detail(run.pass_id, "met" if gap < s3 else "not met", text, cites)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(22, "session-alive", "Was the session kept alive?", answer)]
