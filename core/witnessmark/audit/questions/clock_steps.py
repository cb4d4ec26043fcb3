"""29: was a clock stepped? Wall time against the monotonic clock between every two entries; a reboot hides steps.

Each bay that a job went through has clocks of its own, so each is judged by itself. What the two stood at to each other
is not known; only that the second wrote after the first is, so its clock must not have been behind.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit import say
from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.reconcile import Disturbance
from witnessmark.audit.verdict import Answer, Detail, Verdict, from_details, no_proof, worst
from witnessmark.journal.entry import Entry

ANSWERS: dict[str, Answer] = {
    "stepped": "not met",
    "crept": "not met",
    "backwards": "not met",
    "reboot": "no proof",
    "asleep": "met",
}


def answer(case: Case) -> Verdict:
    if len(case.entries) < 2:
        return no_proof("one entry cannot show a step")
    found = [one for one in case.clock.disturbances if one.kind != "another"]
    bays = _bays(case.entries, case.clock.disturbances)
    details = [_say(one) for one in found]
    if len(bays) > 1:
        details += [_within(number, bay, found) for number, bay in enumerate(bays, 1)]
        details += [_between(one) for one in case.clock.disturbances if one.kind == "another"]
        return from_details(details, "within each bay the clocks agree; how two bays' clocks stood is not known")
    if not details:
        return Verdict("met", "wall time and monotonic clock agree from the first entry to the last", (), bays[0])
    return from_details(details, "the machine slept, and its clocks agree")


def _bays(entries: Sequence[Entry], disturbances: Sequence[Disturbance]) -> list[tuple[int, int]]:
    """Return the first and last entry written by each machine."""
    seams = [one.cites for one in disturbances if one.kind == "another"]
    firsts = [entries[0].seq, *(after for _, after in seams)]
    return list(zip(firsts, [*(before for before, _ in seams), entries[-1].seq], strict=True))


def _within(number: int, bay: tuple[int, int], found: Sequence[Disturbance]) -> Detail:
    """Say what holds of one bay's clocks; each thing that disturbed them is a detail of its own."""
    answers = [ANSWERS[one.kind] for one in found if bay[0] <= one.cites[0] and one.cites[1] <= bay[1]]
    sound = all(one == "met" for one in answers)
    text = "wall time and monotonic clock agree" if sound else "the clocks were disturbed, as said beside"
    if bay[0] == bay[1]:
        return Detail(f"bay {number}", "no proof", "one entry cannot show a step", bay[:1])
    return Detail(f"bay {number}", worst(["met", *answers]), text, bay)


def _between(one: Disturbance) -> Detail:
    subject = f"between the bays, entries {one.cites[0]} and {one.cites[1]}"
    if one.by_ns < 0:
        text = f"the second wrote later, and its wall time was {say.seconds(-one.by_ns)} earlier: one of them was wrong"
        return Detail(subject, "not met", text, one.cites)
    return Detail(subject, "does not apply", "two machines: nothing compared their clocks", one.cites)


def _say(one: Disturbance) -> Detail:
    way = "back" if one.by_ns < 0 else "on"
    text = {
        "stepped": f"wall time was set {way} by {say.seconds(abs(one.by_ns))} against the monotonic clock",
        "crept": f"wall time moved {way} by {say.seconds(abs(one.by_ns))} against the monotonic clock, in small steps",
        "backwards": f"the monotonic clock ran back by {say.seconds(-one.by_ns)}",
        "reboot": "the machine was started again; a step in between would not show",
        "asleep": f"the machine slept for {say.seconds(one.by_ns)}",
    }[one.kind]
    return Detail(f"between entries {one.cites[0]} and {one.cites[1]}", ANSWERS[one.kind], text, one.cites)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(29, "clock-steps", "Did the clocks run on undisturbed?", answer)]
