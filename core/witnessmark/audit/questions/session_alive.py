"""22: was the session kept alive? The largest gap between two signs of life in each run, against S3 (ISO 14229-2).

What keeps a run of ours is sent by us; of one that was heard it is what another tester was heard to ask of the unit.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit import say
from witnessmark.audit.case import Case
from witnessmark.audit.grounds import unheard
from witnessmark.audit.grounds.missing import half_recorded, unrun, unsure
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.session import s3_ns
from witnessmark.audit.timeline import Actuation
from witnessmark.audit.verdict import Answer, Detail, Verdict, does_not_apply, from_details, no_proof

TOUCHING_NS = 100_000_000
"""How far the moments of a run and of its signs of life may lie apart besides: they are read at different places."""


def answer(case: Case) -> Verdict:
    if not case.actuating and not case.timeline.actuations:
        return does_not_apply("no pass of this job runs a wire command")
    runs = [run for run in case.timeline.actuations if run.began == "yes"]
    if not runs:
        return no_proof("no entry of a run that began")
    details = [
        *unrun(case),
        *unsure(case),
        *half_recorded(case),
        *(_run(case, run) for run in runs),
        *unheard.around_the_work(case),
    ]
    return from_details(details, "every session was kept alive through its run")


def _run(case: Case, run: Actuation) -> Detail:
    s3 = s3_ns(case.opened.map)
    if run.grade == "told":
        text = "another tester kept its session; nobody recorded how"
        return Detail(run.subject, "no proof", text, run.cites)
    if run.keepalive is None:
        heard = "nothing was heard of what kept the session alive"
        text = heard if run.grade == "heard" else "no entry of what kept the session alive"
        return Detail(run.subject, "no proof", text, run.cites)
    gap = int(run.keepalive.largest_gap_ns)
    text = f"{say.counted(run.keepalive.count, 'sign')} of life, largest gap {say.seconds(gap)}, S3 {say.seconds(s3)}"
    cites = (*run.cites, run.keepalive_seq or run.seq)
    if gap >= s3:  # what another tester sent may have passed unheard
        answer: Answer = "no proof" if run.grade == "heard" else "not met"
        return Detail(run.subject, answer, text, cites)
    if run.ran is None or run.ran.length().high > (gap + TOUCHING_NS) * (run.keepalive.count + 1):
        return Detail(run.subject, "no proof", f"{text}: they do not cover the whole run", cites)
    return Detail(run.subject, "met", text, cites)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(22, "session-alive", "Was the session kept alive?", answer)]
