"""Personal data beside the entries: an entry holds a commitment, the value lies in a table that can be cleared.

Commitments flow in, what may be shown for them flows out. Rules that hold here: the store writes a value in the same
transaction as the entry that names it; erasing overwrites the bytes (secure_delete, VACUUM, log truncated), and an
entry says what was erased and which copies it cannot reach. Every proof goes on holding.
"""

from __future__ import annotations

import glob
import sqlite3
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from witnessmark.errors import InputError, JournalError
from witnessmark.journal import canonical
from witnessmark.journal.commitment import MARK, Kept, holds, plain_form
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.store import Journal

CHANGED = "CHANGED since it was written"
"""What is shown for a value that is not the one its entry committed to."""


def values_of(journal: Journal, job: str) -> dict[str, Kept]:
    """Return what is kept for `job`, by commitment. A commitment that is not in it was erased.

    A value that is not the one committed to is given as CHANGED: what lies beside an entry is held against it.
    """
    rows = _rows(journal, "SELECT commitment, job, field, salt, value FROM personal WHERE job = ?", (job,))
    return {row[0]: _kept(*row) for row in rows}


def changed(journal: Journal) -> list[Kept]:
    """Return each value of the whole journal that is not the one its entry committed to."""
    rows = _rows(journal, "SELECT commitment, job, field, salt, value FROM personal", ())
    return [kept for row in rows if (kept := _kept(*row)).value == CHANGED]


def _kept(mark: str, job: str, field: str, salt: str, text: str) -> Kept:
    try:
        kept = Kept(mark, job, field, salt, canonical.parse(text.encode(), place=f"personal {field}"))
        return kept if holds(kept) else replace(kept, value=CHANGED)
    except (InputError, ValueError):
        return Kept(mark, job, field, salt, CHANGED)


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


def shown(body: Any, values: Mapping[str, Kept], erased: Collection[str] | None = None) -> Any:
    """Return `body` with each commitment in it, also inside a text, replaced by its value or what became of that.

    `erased` are the commitments known to be erased (see `erased_in`), any other without a value is `not kept here`;
    None: each that has no value is erased.
    """

    def say(mark: str) -> Any:
        if mark in values:
            return values[mark].value
        return "erased" if erased is None or mark in erased else "not kept here"

    return _said(body, say)


def _said(body: Any, say: Callable[[str], Any]) -> Any:
    if isinstance(body, str):
        return say(body) if MARK.fullmatch(body) else MARK.sub(lambda found: str(say(found[0])), body)
    if isinstance(body, dict):
        return {key: _said(item, say) for key, item in body.items()}
    if isinstance(body, list | tuple):
        return [_said(item, say) for item in body]
    return body


def known_copies(journal: Journal, job: str) -> list[str]:
    """Return where personal data of `job` may lie as far as the journal knows: sheets, photos, second copies."""
    sheets = [f"sheet of entry {entry.seq}" for entry in journal.entries(job, kind="sheet")]
    photos = [
        f"file of entry {entry.seq}, if it shows plate or customer" for entry in journal.entries(job, kind="attachment")
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


def erase(
    journal: Journal, job: str, by: str, why: str, copies: Sequence[str], kept: Mapping[str, Kept] | None = None
) -> Entry:
    """Delete the personal data of `job`, and return the `erasure` entry.

    `copies` names where it may still lie and cannot be reached from here: printed sheets, second copies; `kept` is what
    goes of what is kept for the job (`values_of`), all of it where not given. Raises
    InputError when nothing is kept for the job, JournalError when the bytes cannot be overwritten: the entry is there
    then, and doing it again overwrites them.
    """
    kept = values_of(journal, job) if kept is None else kept
    if not kept:
        raise InputError(
            f"no personal data is kept for job {job!r}", place="job", hint="it may have been erased before"
        )
    fields = sorted({value.field for value in kept.values()})
    body = {"commitments": sorted(kept), "copies": list(copies), "fields": fields, "why": why}
    entry = journal.append(Draft("erasure", job, by, body=body))
    with _changing(journal) as connection:
        connection.execute(_DELETE, (canonical.encode(list(kept)).decode(),))
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


_DELETE = "DELETE FROM personal WHERE commitment IN (SELECT value FROM json_each(?))"
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
