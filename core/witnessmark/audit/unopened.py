"""Nipples of which an entry says that they were not opened while the run of their pass lasted.

A case flows in, the numbers of such entries flow out. Rules that hold here: the entry speaks of the last run of its
pass before it; an opening of the same nipple that may have lasted while that run did stands against it, and where both
were said neither is proof.
"""

from __future__ import annotations

from witnessmark.audit.case import Case
from witnessmark.audit.timeline import Actuation, Opening


def missed(case: Case, run: Actuation, nipple: str) -> tuple[int, ...]:
    """Return the entries that say that a nipple was not opened while this run lasted."""
    said = case.missed_at(run.pass_id, nipple)
    return tuple(seq for seq in said if _spoken_of(case, run.pass_id, seq) is run)


def contrary(case: Case, opening: Opening) -> tuple[int, ...]:
    """Return the entries that say of a run in which this nipple may have been open that it was not opened."""
    found = []
    for seq in case.missed_at(opening.pass_id, opening.nipple):
        run = _spoken_of(case, opening.pass_id, seq)
        if run is not None and run.ran is not None and opening.open.meets(run.ran) != "no":
            found.append(seq)
    return tuple(found)


def _spoken_of(case: Case, pass_id: str, seq: int) -> Actuation | None:
    return next((run for run in reversed(case.timeline.actuations_of(pass_id)) if run.seq < seq), None)
