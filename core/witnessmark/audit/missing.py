"""Runs that the plan asks for and that the record does not show: what is not there is no proof that all was well."""

from __future__ import annotations

from collections.abc import Iterator

from witnessmark.audit.case import SILENT, Case
from witnessmark.audit.verdict import Detail
from witnessmark.journal import bodies
from witnessmark.procedure.model import Pass

HEARD_ELSEWHERE = "heard elsewhere"
"""The event that journals have of a wire command of another tester that was not the pass's, where no run was kept."""


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
    """Name each start by another tester of which the record has the request, and not what came of it."""
    for seq, event in case.all_of(bodies.LinkEvent):
        if event.what == HEARD_ELSEWHERE:
            name = event.detail.partition(",")[0]
            text = f"another tester asked for {name}; what it was answered and how long it ran is not recorded"
            yield Detail(f"{name} besides", "no proof", text, (seq,))
