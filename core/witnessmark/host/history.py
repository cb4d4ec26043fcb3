"""All entries of a job that this bay can read: those of the bays before, then its own.

A journal and a job flow in, entries flow out, in order. Rule that holds here: entries of this bay keep their numbers.
"""

from __future__ import annotations

from collections.abc import Iterable

from witnessmark.journal import entry as entries
from witnessmark.journal import evidence, joining, moving
from witnessmark.journal.entry import Entry
from witnessmark.journal.store import Journal


def history(journal: Journal, job: str) -> Iterable[Entry]:
    """Return the entries of `job` from its beginning, wherever that was. Raises JournalError as `earlier_evidence`."""
    earlier = [parsed(data) for data in moving.earlier_evidence(journal, job)]
    mine = journal.entries(job)
    return joining.before_last([*earlier, tuple(mine)]) if earlier else mine


def parsed(data: bytes) -> tuple[Entry, ...]:
    """Return the entries of an evidence file. Raises InputError when it is none."""
    return tuple(entries.parse(bytes(text)) for text in evidence.read(data).entries)
