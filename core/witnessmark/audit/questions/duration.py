"""16: did each run last long enough? Its length from the control unit's answers, not from when we gave up waiting.

One that lasted longer than asked lasted long enough, and is named. A run that a person said to have ended before its
time did not last it for sure, whatever the two touches are apart.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit import say
from witnessmark.audit.case import Case, time_ns
from witnessmark.audit.ends import doubt, unseen
from witnessmark.audit.grounds.missing import no_run, unran
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Actuation
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, from_sure
from witnessmark.procedure.model import Pass

SOURCE = {"sent": "by the control unit's answers", "heard": "as heard on the bus", "told": "as a person told it"}
LONGER = "longer than asked"


def answer(case: Case) -> Verdict:
    if not case.actuating:
        return does_not_apply("no pass of this job runs a wire command")
    details = [_run(case, one) for one in case.actuating]
    longer = [f"{one.subject}: {one.text}" for one in details if one.answer == "met" and LONGER in one.text]
    return from_details(details, "; ".join(["each run lasted as long as the procedure asks", *longer]))


def _run(case: Case, one: Pass) -> Detail:
    run = case.timeline.run_that_counts(one.id)
    if run is None:
        return no_run(case, one)
    return unran(case, run, one.id) or _lasted(case, one, run)


def _lasted(case: Case, one: Pass, run: Actuation) -> Detail:
    assert run.ran is not None
    lasted = run.ran.length()
    least = time_ns(one.seconds) - time_ns(one.seconds_tolerance)
    asked = f"asked {one.seconds} within {one.seconds_tolerance}"
    source = "and nobody saw it end" if unseen(run) else SOURCE.get(run.grade, "")
    text = f"{one.wire_command} ran {say.length(lasted)} {source}, {asked}"
    if too_long(run, one):
        text += f"; {LONGER}"
    others = len(case.timeline.actuations_of(one.id)) - 1
    if others:
        text += f"; {others} other attempt{'s' if others > 1 else ''} at this pass"
    if word := doubt(run):
        text += f"; {word}"
    answer = from_sure(lasted.at_least(least))
    if run.grade == "told" and run.outcome is not None and run.outcome.result == "stopped":
        text += "; it was said to have ended before its time"
        answer = "no proof" if answer == "met" else answer
    return Detail(one.id, answer, text, run.cites)


def too_long(run: Actuation, one: Pass) -> bool:
    """Whether a run surely lasted longer than its pass asks, with its tolerance."""
    most = time_ns(one.seconds) + time_ns(one.seconds_tolerance)
    return run.ran is not None and run.ran.length().at_most(most) == "no"


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(16, "duration", "Did each run last long enough?", answer)]
