"""Entries whose body does not fit their kind any more, as one that was altered may not: told apart, never a crash.

Entries flow in, those that fit flow out with their bodies, or the others. Rule that holds here: who reads entries of
other jobs, or of none, passes over one that does not fit only where its saying anything could allow nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import msgspec

from witnessmark.journal import bodies
from witnessmark.journal.body import Body
from witnessmark.journal.entry import Entry

HINT = "it was altered, or a later version wrote it: witnessmark check"


def fitting(entries: Iterable[Entry], kind: str) -> Iterator[tuple[Entry, Body]]:
    """Yield the entries of a `kind` whose bodies fit it, with these."""
    for entry in entries:
        body = _read(entry) if entry.kind == kind else None
        if body is not None:
            yield entry, body


def unfit(entries: Iterable[Entry], kind: str, after: int = -1) -> str:
    """Name the last entry of a `kind` behind entry `after` whose body does not fit it; empty where all do."""
    found = [one for one in entries if one.kind == kind and one.seq > after and _read(one) is None]
    return named(found[-1]) if found else ""


def named(entry: Entry) -> str:
    """Return in words that an entry cannot be read, and whose it is."""
    of = f" of job {entry.job}" if entry.job else ""
    return f"entry {entry.seq}{of}, of kind {entry.kind}, cannot be read"


def _read(entry: Entry) -> Body | None:
    try:
        return bodies.from_body(entry.kind, entry.body)
    except msgspec.ValidationError:
        return None
