"""3: was the container fresh? How long it had been open, against the procedure's limit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from witnessmark.audit.case import SILENT, Case
from witnessmark.audit.fluid.containers import NOBODY, filled, unknown, used
from witnessmark.audit.limits import inside
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.say import listing
from witnessmark.audit.timeline import Gauge
from witnessmark.audit.verdict import Answer, Detail, Verdict, does_not_apply, from_details, no_proof
from witnessmark.procedure.model import Limit

LABELS = ("fluid-grade", "fluid-class")


def answer(case: Case) -> Verdict:
    allowed = case.procedure.container_age
    if not allowed:
        return does_not_apply("the procedure does not limit how long a container may have been open")
    readings = case.timeline.readings("container-age")
    if not readings:
        silent = case.unread("container-age")
        what = "how long the container had been open"
        said = f"{what} is {SILENT}" if silent else f"no entry of {what}"
        return no_proof(f"{said}, at most {allowed}", *silent)
    details = [
        Detail(
            f"entry {one.seq}",
            _fresh(one, allowed),
            f"open for {one.amount}, at most {allowed}",
            (one.seq,),
        )
        for one in readings
        if case.read_again(one) is None
    ]
    details += _another(case, len(details))
    details += _nobody(case)
    before = [
        f"entry {one.seq} said {one.amount} and was put right at once" for one in readings if case.read_again(one)
    ]
    verdict = from_details(details, f"open for no longer than {allowed}")
    if not before:
        return verdict
    cites = (*verdict.cites, *(one.seq for one in readings))
    return replace(verdict, text=f"{verdict.text} ({listing(before)})", cites=cites)


def _another(case: Case, known: int) -> Iterator[Detail]:
    """Say that more containers were read and filled from than ages were entered."""
    poured = filled(case)
    for step in dict.fromkeys(act.step for act in case.timeline.acts_affecting(*LABELS)):
        read = list(dict.fromkeys(act.seq for act in case.timeline.acts_affecting(*LABELS) if act.step == step))
        used_of = used(read, poured)
        if len(used_of) > known:
            text = "another container was filled from, and no entry says how long it had been open"
            yield Detail(f"entry {used_of[-1]}", "no proof", text, (used_of[-1],))
            return


def _nobody(case: Case) -> Iterator[Detail]:
    """Say that fluid came from a container that nobody read: whose age was entered is not known of it."""
    labels = [act.seq for act in case.timeline.acts if act.affects in LABELS]
    if found := unknown(case, labels, [seq for label in LABELS for seq in case.unread(label)]):
        yield Detail(f"entry {found[0]}", "no proof", NOBODY, tuple(found))


def _fresh(one: Gauge, allowed: str) -> Answer:
    if one.amount.number < 0:
        return "no proof"  # nothing has been open for less than no time: a slip of the keys
    return "met" if inside(one.amount, Limit(high=allowed)) else "not met"


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(3, "container-age", "Was the container fresh?", answer)]
