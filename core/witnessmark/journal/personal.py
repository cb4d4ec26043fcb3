"""Personal data beside the entries: an entry holds a commitment, the value lies in a table that can be cleared.

Values flow in, commitments flow out into entry bodies; a commitment is SHA-256 over a domain, a 32-byte salt and the
canonical value, so that it cannot be guessed once the salt is gone. Rules that hold here: a value is stored before the
entry that names it, so that no entry names one that was never there; erasing overwrites the bytes (secure_delete,
VACUUM, log truncated), and an entry says what was erased and which copies it cannot reach. Every proof goes on holding.
"""

from __future__ import annotations

import glob
import re
import secrets
import sqlite3
import unicodedata
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from witnessmark.errors import InputError, JournalError
from witnessmark.journal import canonical
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.store import Journal

DOMAIN = b"witnessmark personal 1\x00"
"""What every commitment begins with, so that it cannot be taken for another hash."""

PREFIX = "personal:"
"""How a commitment stands in an entry's body: `personal:<64 hex digits>`, wherever a text may stand."""

_COMMITMENT = re.compile(f"{PREFIX}([0-9a-f]{{64}})")


@dataclass(frozen=True, slots=True)
class Value:
    """A value that was committed to: of which job, under what name (`registration`, `customer`), and the salt."""

    commitment: str
    job: str
    field: str
    salt: str
    value: Any


def commitment(salt: bytes, value: Any) -> str:
    """Return the text that stands in an entry for `value`."""
    return PREFIX + sha256(DOMAIN + salt + canonical.encode(value)).hexdigest()


def keep(journal: Journal, job: str, values: Mapping[str, Any]) -> dict[str, str]:
    """Store `values` of `job` by field name, and return the commitment of each, to be put into an entry's body.

    Raises InputError for a value outside the canonical domain, JournalError when they cannot be stored.
    """
    rows = []
    for field, value in values.items():
        salt = secrets.token_bytes(32)
        text = canonical.encode(value, place=field).decode()
        rows.append((commitment(salt, value), job, field, salt.hex(), text, plain_form(value)))
    with _changing(journal) as connection:
        connection.executemany("INSERT INTO personal VALUES (?, ?, ?, ?, ?, ?)", rows)
    return {field: row[0] for field, row in zip(values, rows, strict=True)}


def values_of(journal: Journal, job: str) -> dict[str, Value]:
    """Return what is kept for `job`, by commitment. A commitment that is not in it was erased."""
    rows = _rows(journal, "SELECT commitment, job, field, salt, value FROM personal WHERE job = ?", (job,))
    return {
        mark: Value(mark, of_job, field, salt, canonical.parse(text.encode(), place=f"personal {field}"))
        for mark, of_job, field, salt, text in rows
    }


def jobs_with(journal: Journal, field: str, value: str) -> list[str]:
    """Return the jobs for which `field` (a registration, a name) was kept with this value, however it was spaced."""
    rows = _rows(
        journal,
        "SELECT DISTINCT job FROM personal WHERE field = ? AND found_by = ? ORDER BY job",
        (field, plain_form(value)),
    )
    return [job for (job,) in rows]


def erased_in(entries: Iterable[Entry]) -> frozenset[str]:
    """Return every commitment that an `erasure` among `entries` names."""
    return frozenset(one for entry in entries if entry.kind == "erasure" for one in entry.body.get("commitments", []))


def shown(body: Any, values: Mapping[str, Value], erased: Collection[str] | None = None) -> Any:
    """Return `body` with each commitment replaced by its value, by `erased`, or by `not kept here`.

    `erased` are the commitments known to be erased (see `erased_in`); None: each that has no value is.
    """
    if isinstance(body, str) and _COMMITMENT.fullmatch(body):
        if body in values:
            return values[body].value
        return "erased" if erased is None or body in erased else "not kept here"
    if isinstance(body, dict):
        return {key: shown(item, values, erased) for key, item in body.items()}
    if isinstance(body, list | tuple):
        return [shown(item, values, erased) for item in body]
    return body


def known_copies(journal: Journal, job: str) -> list[str]:
    """Return where personal data of `job` may lie as far as the journal knows: sheets, photos, second copies."""
    sheets = [f"sheet of entry {entry.seq}" for entry in journal.entries(job, kind="sheet")]
    photos = [
        f"file of entry {entry.seq} ({entry.body.get('name')}), if it shows plate or customer"
        for entry in journal.entries(job, kind="attachment")
    ]
    kept = [
        f"{path.name} beside the journal, which a restore kept: delete it when it is of no more use"
        for path in set_aside(journal)
    ]
    return [*sheets, *photos, *kept, "each sheet printed without a seal", "each second copy made before this entry"]


def set_aside(journal: Journal) -> list[Path]:
    """Return the databases, and their logs, that stood here before a restore: an erasure does not reach them."""
    found = journal.path.parent.glob(f"{glob.escape(journal.path.name)}.before*")
    return sorted(path for path in found if not path.name.endswith((".head", "-shm")))


def erase(journal: Journal, job: str, by: str, why: str, copies: Sequence[str]) -> Entry:
    """Delete all personal data of `job`, and return the `erasure` entry.

    `copies` names where it may still lie and cannot be reached from here: printed sheets, second copies. Raises
    InputError when nothing is kept for the job, JournalError when the bytes cannot be overwritten: the entry is there
    then, and doing it again overwrites them.
    """
    kept = values_of(journal, job)
    if not kept:
        raise InputError(
            f"no personal data is kept for job {job!r}", place="job", hint="it may have been erased before"
        )
    fields = sorted({value.field for value in kept.values()})
    body = {"commitments": sorted(kept), "copies": list(copies), "fields": fields, "why": why}
    entry = journal.append(Draft("erasure", job, by, body=body))
    with _changing(journal) as connection:
        connection.execute("DELETE FROM personal WHERE job = ?", (job,))
    scrub(journal)
    return entry


def finish_erasures(journal: Journal) -> int:
    """Delete what an `erasure` entry names and a crash left, and return how many values that were."""
    named = [one for entry in journal.entries(kind="erasure") for one in entry.body.get("commitments", [])]
    with _changing(journal) as connection:
        left = sum(connection.execute("DELETE FROM personal WHERE commitment = ?", (one,)).rowcount for one in named)
    if left:
        scrub(journal)
    return left


def scrub(journal: Journal) -> None:
    """Overwrite what deleted rows left in database and log. Raises JournalError while another program reads it."""
    try:
        journal.connection.execute("PRAGMA secure_delete=ON")
        journal.connection.execute("VACUUM")
        busy = journal.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
    except sqlite3.Error as error:
        raise JournalError(f"the deleted data cannot be overwritten yet: {error}", hint=_SCRUB_HINT) from error
    if busy:
        raise JournalError("the deleted data cannot be overwritten while another program reads", hint=_SCRUB_HINT)


def plain_form(value: Any) -> str:
    """Return the form that values are found by: without accents, spaces, dashes and case."""
    text = unicodedata.normalize("NFKD", str(value)).casefold()
    return "".join(sign for sign in text if sign.isalnum())


_SCRUB_HINT = "end the other programs on this journal, then erase again"


@contextmanager
def _changing(journal: Journal) -> Iterator[sqlite3.Connection]:
    """Open a transaction on the personal table; a failure undoes it and becomes a JournalError."""
    connection = journal.connection
    try:
        connection.execute("BEGIN IMMEDIATE")
        try:
            yield connection
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise
    except sqlite3.Error as error:
        raise JournalError(
            f"personal data cannot be changed: {error}", hint="check the disk, then try again"
        ) from error


def _rows(journal: Journal, query: str, values: tuple[str, ...]) -> list[tuple[str, ...]]:
    try:
        return journal.connection.execute(query, values).fetchall()
    except sqlite3.Error as error:
        raise JournalError(f"personal data cannot be read: {error}", hint="run a check of the journal") from error
