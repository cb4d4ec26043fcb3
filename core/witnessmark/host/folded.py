"""Where a job stands by all of its entries, and from which on they cannot be read.

A journal and a job flow in, the job's state flows out. Rule that holds here: an entry that does not fit its kind, as
one that was altered may not, is an error that names the job and the entry, never a mistake of ours; what stood before
it is not told as where the job stands.
"""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress

import msgspec

from witnessmark.errors import InputError, JournalError
from witnessmark.host.history import history
from witnessmark.job.walk import corrected
from witnessmark.job.walk.fold import fold
from witnessmark.job.walk.standing import PRESSURE_ON, is_open, sentence
from witnessmark.job.walk.state import JobState
from witnessmark.journal import bodies, moving
from witnessmark.journal.entry import Entry
from witnessmark.journal.store import Journal


def folded(journal: Journal, job: str, tried: tuple[bodies.FirstUse, ...] | None = None) -> JobState:
    """Return where a job stands, as `fold` does. Raises InputError for no such job, JournalError as above."""
    entries: tuple[Entry, ...] = ()
    try:
        entries = tuple(history(journal, job))
        return fold(entries, tried)
    except (msgspec.ValidationError, InputError) as error:
        if not entries and isinstance(error, InputError) and not journal.job_head(job).count:
            raise
        first = first_unfit(entries)
        where = f"from entry {first.seq} on" if first is not None else f"({error})"
        raise JournalError(
            f"the record of job {job} cannot be read {where}",
            hint="it was altered, or a later version wrote it: check the journal, and look at the vehicle itself",
        ) from error


def check_here(journal: Journal, job: str) -> None:
    """Raise JournalError when `job` went to another bay, naming what stood open on the vehicle as it went."""
    try:
        moving.check_here(journal, job)
    except JournalError as gone:
        stood = ""
        with suppress(JournalError):
            state = folded(journal, job)
            fed = PRESSURE_ON if state.pressurised else ""
            stood = " ".join(one for one in (sentence(is_open(state, state.open_nipples)), fed) if one)
        raise JournalError(f"{gone.what}. As it went: {stood}" if stood else gone.what, hint=gone.hint) from gone


def first_unfit(entries: Iterable[Entry]) -> Entry | None:
    """Return the first of the entries whose body does not fit its kind."""
    for one in corrected.amounts(tuple(entries)):
        try:
            if one.kind in bodies.BODIES:
                bodies.from_body(one.kind, one.body)
        except msgspec.ValidationError:
            return one
    return None
