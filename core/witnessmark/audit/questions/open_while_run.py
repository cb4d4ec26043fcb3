"""6: was the nipple open while the wire command ran? The share of the run that each nipple of its pass was open."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.grounds.missing import no_run, unran
from witnessmark.audit.grounds.open_share import share
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details
from witnessmark.procedure.model import Pass


def answer(case: Case) -> Verdict:
    if not case.actuating:
        return does_not_apply("no pass of this job runs a wire command")
    details = [_nipple(case, one, name) for one in case.actuating for name in one.nipples]
    return from_details(details, "each run had the nipples of its pass open for the share that the procedure asks")


def _nipple(case: Case, one: Pass, name: str) -> Detail:
    subject = f"{one.id}, {case.nipple(name).name}"
    run = case.timeline.run_that_counts(one.id)
    if run is None:
        return no_run(case, one, subject)
    return unran(case, run, subject) or share(case, one, name, run, subject)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(6, "open-while-run", "Was the nipple open while the wire command ran?", answer)]
