"""Runs that the plan asks for and that the record does not show: what is not there is no proof that all was well."""

from __future__ import annotations

from collections.abc import Iterator

from witnessmark.audit import say
from witnessmark.audit.assemble import HEARD_ELSEWHERE, ONLY_END
from witnessmark.audit.case import SILENT, Case
from witnessmark.audit.cited import spell
from witnessmark.audit.timeline import Actuation
from witnessmark.audit.verdict import Answer, Detail
from witnessmark.journal import bodies
from witnessmark.procedure.model import Pass


def unrun(case: Case) -> tuple[Detail, ...]:
    """Name each planned pass that needs a wire command and has no entry of a run, nor of one that was refused.

    And each of which a card leaves a run empty that was made after another.
    """
    return case.once("unrun", lambda: tuple(_unrun(case)))


def _unrun(case: Case) -> Iterator[Detail]:
    for one in case.actuating:
        runs = case.timeline.actuations_of(one.id)
        if not runs:
            yield no_run(case, one)
        elif silent := [seq for seq in case.unwritten("run", one.id) if seq > runs[-1].seq]:
            yield Detail(one.id, "no proof", f"another run of {one.wire_command} is {SILENT}", tuple(silent))


def no_run(case: Case, one: Pass, subject: str = "") -> Detail:
    """Return that the record shows no run of a pass: no entry, or a card that leaves it empty."""
    silent = case.unwritten("run", one.id)
    text = f"the run of {one.wire_command} is {SILENT}" if silent else f"no entry of a run of {one.wire_command}"
    return Detail(subject or one.id, "no proof", text, silent)


def unran(case: Case, run: Actuation, subject: str) -> Detail | None:
    """Return that a run never began, or that nothing says whether it did, and which attempts before did; else None."""
    if run.ran is not None:
        return None
    before = [one for one in case.timeline.actuations_of(run.pass_id) if one.seq < run.seq and one.began != "no"]
    ran = [one for one in before if one.began == "yes"]
    answer: Answer = "no proof"
    text = f"nothing says whether {run.wire_command} ran"
    if run.began == "no":
        never = "" if before or run.grade == "told" else " and never ran"
        answer, text = "not met", f"{run.wire_command} {run.never}{never}"
    for of_it, did in ((ran, "ran"), ([one for one in before if one not in ran], "may have run")):
        if of_it:
            attempts = say.counted(len(of_it), "earlier attempt", "earlier attempts")
            text += f"; {attempts} {did} ({spell([one.seq for one in of_it])})"
    return Detail(subject, answer, text, (*run.cites, *(seq for one in before for seq in one.cites)))


def unsure(case: Case) -> Iterator[Detail]:
    """Name each run of which nothing says whether it began."""
    for run in case.timeline.actuations:
        if run.began == "maybe":
            yield Detail(run.subject, "no proof", f"nothing says whether {run.wire_command} ran", run.cites)


def half_recorded(case: Case) -> tuple[Detail, ...]:
    """Name each run of which no entry says how it began or ended, and of another tester's those heard in part.

    A stop that may have ended a run that was heard to begin is no other run: it bounds that one.
    """
    return case.once("half recorded", lambda: tuple(_half_recorded(case)))


def _half_recorded(case: Case) -> Iterator[Detail]:
    for one in case.timeline.halves:
        says = "says" if len(one.cites) == 1 else "say"
        text = f"{spell(one.cites)} {says} that a wire command ran, and no entry says that it began"
        if one.how == "ended again":
            text = (
                f"entry {one.cites[-1]} ends a run that entry {one.ended} had ended; no entry says that another began"
            )
        elif one.how == "started again":
            text = f"entry {one.cites[-1]} starts a run that entry {one.ended} had ended; no entry says how that ended"
        yield Detail(one.pass_id or "a run besides", "no proof", text, one.cites)
    for seq, event in case.all_of(bodies.LinkEvent):
        if event.what != HEARD_ELSEWHERE:
            continue
        name, _, how = event.detail.partition(", ")
        if how != ONLY_END:
            text = f"another tester asked for {name}; what it was answered and how long it ran is not recorded"
            yield Detail(f"{name} besides", "no proof", text, (seq,))
        elif not _ends_one(case, name, seq):
            text = f"a run of {name} by another tester was heard to end and not to begin: how long it ran is not known"
            yield Detail(f"{name} besides", "no proof", text, (seq,))


def _ends_one(case: Case, name: str, seq: int) -> bool:
    runs = [run for run in case.timeline.actuations if run.wire_command == name and run.seq < seq]
    return bool(runs) and runs[-1].latest is not None and runs[-1].latest.seq == seq
