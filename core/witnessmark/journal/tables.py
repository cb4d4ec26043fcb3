"""The SQLite side of a journal: its tables, the guards on them, and how a connection is set up.

`entries` is the only truth. `subtrees` can be dropped and made again; `personal` is kept apart so that it can be
deleted. The guards refuse changes by mistake; that nobody changed an entry on purpose is shown by the tree alone.
"""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path
from typing import TYPE_CHECKING

from witnessmark.errors import JournalError

if TYPE_CHECKING:
    from sqlite_utils import Database

APPLICATION_ID = 0x574D4A4C
"""Stands in the file's header, so that another program's database is not taken for a journal."""

VERSION = 2
"""Of the tables; the format of an entry has its own number."""

OF_THE_WORK = ("armed", "condition", "exchange", "intent", "keepalive", "outcome", "reading", "step")
"""Kinds that a job writes again and again: they are looked for within their job, so no index by kind holds them."""

SOUGHT_BY_KIND = f"kind NOT IN ({', '.join(map(repr, OF_THE_WORK))})"
"""A query for another kind says this too, word for word, and so may use the index that holds only those."""

BUSY_S = 5.0
"""How long a writer waits for another one."""

_ENTRIES = """
CREATE TABLE entries (
    seq INTEGER PRIMARY KEY,
    text TEXT NOT NULL,
    job TEXT GENERATED ALWAYS AS (json_extract(text, '$.job')) VIRTUAL,
    kind TEXT GENERATED ALWAYS AS (json_extract(text, '$.kind')) VIRTUAL,
    CHECK (json_extract(text, '$.seq') = seq)
);
CREATE INDEX entries_by_job ON entries (job, seq);
CREATE INDEX entries_by_kind ON entries (kind, seq);
CREATE INDEX jobs_by_vin ON entries (json_extract(text, '$.body.vehicle.vin')) WHERE kind = 'job-opened';
CREATE INDEX jobs_by_time ON entries (json_extract(text, '$.recorded.wall')) WHERE kind = 'job-opened';
CREATE TRIGGER entries_are_never_changed BEFORE UPDATE ON entries
BEGIN SELECT RAISE(ABORT, 'an entry is never changed'); END;
CREATE TRIGGER entries_are_never_deleted BEFORE DELETE ON entries
BEGIN SELECT RAISE(ABORT, 'an entry is never deleted'); END;
CREATE TABLE subtrees (level INTEGER, place INTEGER, hash BLOB NOT NULL, PRIMARY KEY (level, place)) WITHOUT ROWID;
"""
_PERSONAL = """
CREATE TABLE personal (
    commitment TEXT PRIMARY KEY,
    job TEXT NOT NULL,
    field TEXT NOT NULL,
    salt TEXT NOT NULL,
    value TEXT NOT NULL,
    found_by TEXT NOT NULL
) WITHOUT ROWID;
CREATE INDEX personal_by_job ON personal (job);
CREATE INDEX personal_by_value ON personal (field, found_by);
"""


class LaterTables(JournalError):
    """A later version of witnessmark wrote the database: it is not damaged, only not known here."""


def connect(path: Path, *, write: bool, busy_s: float = BUSY_S) -> sqlite3.Connection:
    """Return a connection to the journal at `path`, checked to be one of a known version.

    It may be handed to another thread, and is used by one thread at a time. Raises JournalError when there is no
    journal, it is not one, or (LaterTables) a later program wrote it.
    """
    if not path.is_file():
        raise JournalError(f"there is no journal at {path}", hint="create one first, or give the path of one")
    try:
        conn = _open(path, "rw" if write else "ro", busy_s)
        try:
            _check_header(conn, path)
        except sqlite3.OperationalError:
            conn.close()
            if write or _has_wal(path):
                raise
            conn = _open(path, "ro&immutable=1", busy_s)
            _check_header(conn, path)
        if write:
            conn.execute("PRAGMA synchronous=FULL")
            conn.execute("PRAGMA recursive_triggers=ON")
            conn.execute("PRAGMA secure_delete=ON")
            if conn.execute("PRAGMA user_version").fetchone()[0] < VERSION:
                migrate(conn)
    except sqlite3.Error as error:
        raise JournalError(f"{path} cannot be opened: {error}", hint="check the file's rights and its disk") from error
    return conn


def create(path: Path) -> sqlite3.Connection:
    """Return a connection to a new, empty journal database at `path`."""
    conn = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
    conn.execute(f"PRAGMA application_id={APPLICATION_ID}")
    conn.execute("PRAGMA journal_mode=WAL")
    conn.execute("PRAGMA synchronous=FULL")
    migrate(conn)
    return conn


def migrate(conn: sqlite3.Connection) -> None:
    """Bring the tables to VERSION. Each step and its record are one transaction."""
    from sqlite_utils import Database
    from sqlite_utils.migrations import Migrations

    steps = Migrations("witnessmark")

    @steps()
    def m001_entries_and_personal(db: Database) -> None:
        for statement in _statements(_ENTRIES + _PERSONAL):
            db.execute(statement)

    @steps()
    def m002_index_by_kind_only_what_is_sought_by_it(db: Database) -> None:
        db.execute("DROP INDEX entries_by_kind")
        db.execute(f"CREATE INDEX sought_by_kind ON entries (kind, seq) WHERE {SOUGHT_BY_KIND}")

    steps.apply(Database(conn, recursive_triggers=True))
    conn.execute(f"PRAGMA user_version={VERSION}")


def beside(path: Path) -> list[Path]:
    """Return the files that lie beside the database at `path` while it is open, and its head file."""
    return [path.with_name(path.name + end) for end in ("-wal", "-shm", ".head")]


def sync_folder(folder: Path) -> None:
    """Sync what `folder` lists, so that a new file's name outlives a power cut."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _statements(script: str) -> list[str]:
    found, part = [], ""
    for line in script.splitlines(keepends=True):
        part += line
        if sqlite3.complete_statement(part):
            found.append(part)
            part = ""
    return found


def _open(path: Path, mode: str, busy_s: float) -> sqlite3.Connection:
    uri = f"{path.absolute().as_uri()}?mode={mode}"
    return sqlite3.connect(uri, uri=True, isolation_level=None, check_same_thread=False, timeout=busy_s)


def _check_header(conn: sqlite3.Connection, path: Path) -> None:
    if conn.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        conn.close()
        raise JournalError(f"{path} is not a journal", hint="give the path of a journal")
    version = conn.execute("PRAGMA user_version").fetchone()[0]
    if version > VERSION:
        conn.close()
        raise LaterTables(
            f"{path} has tables of version {version}, known here is {VERSION}",
            hint="use a newer version of witnessmark",
        )
    conn.execute("SELECT 1 FROM sqlite_schema LIMIT 1").fetchone()


def _has_wal(path: Path) -> bool:
    wal = path.with_name(path.name + "-wal")
    return wal.exists() and wal.stat().st_size > 0
