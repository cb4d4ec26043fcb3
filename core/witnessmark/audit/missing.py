"""Runs that the plan asks for and that the record does not show: what is not there is no proof that all was well."""

from __future__ import annotations

from collections.abc import Iterator

from witnessmark.audit.case import Case
from witnessmark.audit.verdict import Detail


def unrun(case: Case) -> Iterator[Detail]:
    """Name each planned pass that needs a wire command and has no entry of a run, nor of one that was refused."""
    for one in case.unrun:
        yield Detail(one.id, "no proof", f"no entry of a run of {one.wire_command}")


def unsure(case: Case) -> Iterator[Detail]:
    """Name each run of which nothing says whether it began."""
    for run in case.timeline.actuations:
        if run.began == "maybe":
            yield Detail(run.subject, "no proof", f"nothing says whether {run.wire_command} ran", run.cites)
