"""Runs that the plan asks for and that the record does not show: what is not there is no proof that all was well."""

from __future__ import annotations

from collections.abc import Iterator

from witnessmark.audit.assemble import HEARD_ELSEWHERE, ONLY_END
from witnessmark.audit.case import SILENT, Case
from witnessmark.audit.verdict import Detail
from witnessmark.journal import bodies
from witnessmark.procedure.model import Pass


def unrun(case: Case) -> Iterator[Detail]:
    """Name each planned pass that needs a wire command and has no entry of a run, nor of one that was refused."""
    for one in case.unrun:
        yield no_run(case, one)


def no_run(case: Case, one: Pass, subject: str = "") -> Detail:
    """Return that the record shows no run of a pass: no entry, or a card that leaves it empty."""
    silent = case.unwritten("run", one.id)
    text = f"the run of {one.wire_command} is {SILENT}" if silent else f"no entry of a run of {one.wire_command}"
    return Detail(subject or one.id, "no proof", text, silent)


def unsure(case: Case) -> Iterator[Detail]:
    """Name each run of which nothing says whether it began."""
    for run in case.timeline.actuations:
        if run.began == "maybe":
            yield Detail(run.subject, "no proof", f"nothing says whether {run.wire_command} ran", run.cites)


def only_heard_of(case: Case) -> Iterator[Detail]:
    """Name each run by another tester of which the record has one request, and not the rest.

    A stop that may have ended a run that was heard to begin is no other run: it bounds that one.
    """
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
    latest = runs[-1].latest if runs else None
    return latest is not None and (latest.how == "stop" or latest.seq == seq)
