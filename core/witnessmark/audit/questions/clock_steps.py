"""29: was a clock stepped? Wall time against the monotonic clock between every two entries; a reboot hides steps."""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit import say
from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.reconcile import Disturbance
from witnessmark.audit.verdict import Answer, Detail, Verdict, from_details, no_proof

ANSWERS: dict[str, Answer] = {"stepped": "not met", "backwards": "not met", "reboot": "no proof", "asleep": "met"}


def answer(case: Case) -> Verdict:
    if len(case.entries) < 2:
        return no_proof("one entry cannot show a step")
    details = [_say(one) for one in case.clock.disturbances]
    if not details:
        ends = (case.entries[0].seq, case.entries[-1].seq)
        return Verdict("met", "wall time and monotonic clock agree from the first entry to the last", (), ends)
    return from_details(details, "the machine slept, and its clocks agree")


def _say(one: Disturbance) -> Detail:
    text = {
        "stepped": f"wall time moved by {say.seconds(one.by_ns)} against the monotonic clock",
        "backwards": f"the monotonic clock ran back by {say.seconds(-one.by_ns)}",
        "reboot": "the machine was started again; a step in between would not show",
        "asleep": f"the machine slept for {say.seconds(one.by_ns)}",
    }[one.kind]
    return Detail(f"between entries {one.cites[0]} and {one.cites[1]}", ANSWERS[one.kind], text, one.cites)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(29, "clock-steps", "Did the clocks run on undisturbed?", answer)]
