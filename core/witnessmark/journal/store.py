"""The journal of one bay on disk: entries are appended, synced, and read back.

Drafts flow in, entries flow out. Rules that hold here:

- an append is one transaction: a lone entry goes in by one INSERT that inserts nothing when another process has
  appended meanwhile; several, or that lone one then, under BEGIN IMMEDIATE with the head read anew. It returns after
  the write-ahead log is synced and the head file written; only then is an entry acknowledged;
- several processes may append (a runner, an amendment); each derives the edge of the tree anew when another one wrote;
- personal data in a body is replaced by commitments (`commitment`), its values stored in the same transaction;
- an entry that cannot be recorded raises JournalError, and whatever needed it is refused;
- a Journal is used by one thread at a time, which need not be the one that opened it.
"""

from __future__ import annotations

import os
import secrets
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any

from witnessmark import clock as clocks
from witnessmark.errors import InputError, JournalError
from witnessmark.journal import canonical, commitment, merkle, tables
from witnessmark.journal import entry as entries_
from witnessmark.journal import head as heads
from witnessmark.journal.commitment import Kept
from witnessmark.journal.entry import Draft, Entry, Recorded
from witnessmark.journal.head import Head
from witnessmark.journal.no_job import no_job
from witnessmark.journal.tree import LEVEL, StoredTree

_FIRST, _BATCH = 8, 512
_KEEP = "INSERT INTO personal VALUES (?, ?, ?, ?, ?, ?)"
_ROW = "SELECT seq, COALESCE(CAST(text AS BLOB), x'') FROM entries"
"""The exact bytes, whatever damage made of them."""
_INSERT_NEXT = "INSERT INTO entries (seq, text) SELECT ?, ? WHERE (SELECT max(seq) FROM entries) = ?"


@dataclass(frozen=True, slots=True)
class JobLine:
    """One job as the journal lists it: how many entries, and where the first and last stand."""

    job: str
    count: int
    first_seq: int
    last_seq: int


@dataclass(frozen=True, slots=True)
class JobHead:
    """Count and head of one job: what a sheet prints. `head` is the leaf hash of its last entry."""

    count: int
    head: bytes


class Journal:
    """One bay's journal. Open it with `Journal.open` or make one with `Journal.create`; close it when done."""

    def __init__(self, path: Path, connection: sqlite3.Connection, clock: clocks.Clock, *, write: bool) -> None:
        self.path = path
        self.connection = connection
        self.tree = StoredTree(connection)
        self._clock = clock
        self._write = write
        self._process = f"{os.getpid()}.{secrets.token_hex(4)}"
        self._boot_id = clocks.boot_id()
        self._edge = merkle.Range()
        self._jobs: dict[str, JobHead] = {}
        self._head_file: heads.HeadFile | None = None
        self._slot = heads.slot(self._edge_head())

    @classmethod
    def create(cls, path: Path, origin: str, clock: clocks.Clock) -> Journal:
        """Make a journal whose entry 0 names `origin` and a random journal id, and return it open for writing.

        `origin` is the name its checkpoints carry: a host name and path of the shop, without a scheme. Raises
        JournalError when there is something at `path` already, InputError when the origin is no single line.
        """
        _check_origin(origin)
        if path.exists():
            raise JournalError(f"there is a file at {path} already", hint="choose another name, or open that journal")
        draft_path = path.with_name(path.name + ".new")
        try:
            for leftover in (draft_path, *tables.beside(draft_path)):
                leftover.unlink(missing_ok=True)
            heads.path_of(path).unlink(missing_ok=True)
            with cls(draft_path, tables.create(draft_path), clock, write=True) as journal:
                body = {"format": entries_.FORMAT, "id": secrets.token_hex(16), "origin": origin}
                journal.append(Draft("genesis", None, "machine:journal", body=body))
                journal.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            # The head file comes first: a database without one is damage, the other way round is a cut-off create.
            os.replace(heads.path_of(draft_path), heads.path_of(path))
            os.link(draft_path, path)
            draft_path.unlink()
            tables.sync_folder(path.parent)
        except (OSError, sqlite3.Error) as error:
            raise JournalError(
                f"no journal can be made at {path}: {error}", hint="check the folder and disk"
            ) from error
        return cls.open(path, clock, write=True)

    @classmethod
    def open(cls, path: Path, clock: clocks.Clock, *, write: bool = False, busy_s: float = tables.BUSY_S) -> Journal:
        """Return the journal at `path`, for reading unless `write`.

        Raises JournalError when it cannot be opened, and when `write` and the head file shows that its end was lost
        or changed: reading is still possible then, see `check`.
        """
        journal = cls(path, tables.connect(path, write=write, busy_s=busy_s), clock, write=write)
        if write:
            try:
                journal._compare_with_head_file()
            except BaseException:
                journal.close()
                raise
        return journal

    def append(self, draft: Draft) -> Entry:
        """Record `draft` and return the entry, synced to disk. See `append_many`."""
        return self.append_many([draft])[0]

    def append_many(self, drafts: Sequence[Draft]) -> list[Entry]:
        """Record `drafts` in one transaction with one sync, and return the entries.

        Raises InputError for a draft of the wrong form, JournalError when it cannot be recorded: nothing of it is in
        the journal then, unless the message says that only the head file could not be written.
        """
        if not self._write:
            raise JournalError("the journal is open for reading only", hint="open it for writing")
        for draft in drafts:
            entries_.check(draft)
        written, kept = commitment.set_apart_all(drafts)
        try:
            try:
                made = ([] if kept else self._insert_alone(written)) or self._insert_together(written, kept)
            except BaseException:
                self._roll_back()
                raise
        except sqlite3.Error as error:
            raise JournalError(f"it cannot be recorded: {error}", hint=_hint(error)) from error
        self._note_head()
        return made

    def entries(self, job: str | None = None, after_seq: int = -1, kind: str | None = None) -> Iterator[Entry]:
        """Yield the entries in order, of one `job` or `kind` where given, from the one after `after_seq`.

        Holds no transaction open between batches. Raises JournalError naming the entry that is damaged.
        """
        for seq, text in self.texts(job, after_seq, kind):
            yield _read(seq, text)

    def texts(
        self, job: str | None = None, after_seq: int = -1, kind: str | None = None
    ) -> Iterator[tuple[int, bytes]]:
        """Yield the sequence number and exact text of entries, as `entries` does, without reading them."""
        wanted = [("job", job), ("kind", kind)]
        where = "".join(f" AND {name} = :{name}" for name, value in wanted if value is not None)
        if kind is not None and kind not in tables.OF_THE_WORK:
            where += f" AND {tables.SOUGHT_BY_KIND}"
        query, most = f"{_ROW} WHERE seq > :after{where} ORDER BY seq LIMIT :most", _FIRST
        while True:
            rows = self._rows(query, {"after": after_seq, "most": most, **dict(wanted)})
            yield from rows
            if len(rows) < most:
                return
            after_seq, most = rows[-1][0], _BATCH

    def entry(self, seq: int) -> Entry:
        """Return entry `seq`. Raises InputError when there is none, JournalError when it is damaged."""
        for found, text in self.texts(after_seq=seq - 1) if seq < self.size else ():
            if found == seq:
                return _read(seq, text)
            break
        raise InputError(
            f"there is no entry {seq}", place="entry", hint=f"the journal has entries 0 to {self.size - 1}"
        )

    def job_texts(self, job: str) -> list[bytes]:
        """Return the exact texts of a job's entries in order. Raises InputError when there is no such job."""
        found = [text for _, text in self.texts(job)]
        if not found:
            raise no_job(job)
        return found

    def job_head(self, job: str) -> JobHead:
        """Return count and head of `job`, both nothing when it has no entry."""
        rows = self._rows(f"{_ROW} WHERE job = :job ORDER BY seq DESC LIMIT 1", {"job": job})
        if not rows:
            return JobHead(0, b"")
        seq, text = rows[0]
        return JobHead((_read(seq, text).job_seq or 0) + 1, merkle.leaf_hash(text))

    def jobs(self) -> list[JobLine]:
        """Return a line for each job, the one written to last coming first."""
        rows = self._rows(
            "SELECT job, count(*), min(seq), max(seq) FROM entries WHERE job IS NOT NULL GROUP BY job ORDER BY 4 DESC"
        )
        return [JobLine(*row) for row in rows]

    @property
    def size(self) -> int:
        """Return how many entries there are, also those that another process has appended."""
        last = self._rows("SELECT max(seq) FROM entries")[0][0]
        return 0 if last is None else int(last) + 1

    def head(self) -> Head:
        """Return size and root of the whole journal as it stands now."""
        self._catch_up()
        return self._edge_head()

    @contextmanager
    def snapshot(self) -> Iterator[None]:
        """Show the journal inside the block as it stands at its beginning, whatever others append meanwhile."""
        self.connection.execute("BEGIN")
        try:
            yield
        finally:
            self.connection.execute("ROLLBACK")

    def genesis(self) -> Entry:
        """Return entry 0."""
        return self.entry(0)

    def close(self) -> None:
        """Close it; again is harmless."""
        self.connection.close()
        if self._head_file is not None:
            self._head_file.close()

    def __enter__(self) -> Journal:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _rows(self, query: str, values: dict[str, object] | None = None) -> list[Any]:
        try:
            return self.connection.execute(query, values or {}).fetchall()
        except sqlite3.Error as error:
            raise JournalError(f"the journal cannot be read: {error}", hint="run a check of the journal") from error

    def _insert_alone(self, drafts: Sequence[Draft]) -> list[Entry]:
        """Insert a single draft by one statement, which is its own transaction and inserts nothing once others wrote.

        The head is ready before it: what follows a sync runs on cold caches, and whoever waits waits for that too.
        Returns nothing when it did not: then, and where a subtree is completed that is kept, it takes a longer one.
        """
        if len(drafts) != 1 or not self._edge.size or not (self._edge.size + 1) % (1 << LEVEL):
            return []
        one, text = self._made(drafts[0])
        before = self._edge.copy()
        self._take_in(one, text)
        self._slot = heads.slot(self._edge_head())
        if self.connection.execute(_INSERT_NEXT, (one.seq, text.decode(), one.seq - 1)).rowcount != 1:
            self._edge = before
            self._jobs.clear()
            return []
        return [one]

    def _insert_together(self, drafts: Sequence[Draft], kept: Sequence[Kept]) -> list[Entry]:
        self.connection.execute("BEGIN IMMEDIATE")
        self._catch_up()
        self.connection.executemany(_KEEP, map(_kept_row, kept))
        made = []
        for draft in drafts:
            one, text = self._made(draft)
            self.connection.execute("INSERT INTO entries (seq, text) VALUES (?, ?)", (one.seq, text.decode()))
            self.tree.keep(self._take_in(one, text))
            made.append(one)
        self._slot = heads.slot(self._edge_head())
        self.connection.execute("COMMIT")
        return made

    def _made(self, draft: Draft) -> tuple[Entry, bytes]:
        one = self._entry_of(draft)
        text = entries_.text(one)
        entries_.spelled(text)  # what could not be read again must never be written
        return one, text

    def _take_in(self, one: Entry, text: bytes) -> list[tuple[int, int, bytes]]:
        leaf = merkle.leaf_hash(text)
        if one.job is not None:
            self._jobs[one.job] = JobHead((one.job_seq or 0) + 1, leaf)
        return self._edge.append(leaf)

    def _entry_of(self, draft: Draft) -> Entry:
        stamp = self._clock.stamp()
        before = None
        if draft.job is not None:
            before = self._jobs.get(draft.job) or self.job_head(draft.job)
        return Entry(
            body=entries_.body_of(draft, self._edge.size),
            done_by=draft.done_by,
            entered_by=draft.entered_by or draft.done_by,
            format=entries_.FORMAT,
            job=draft.job,
            job_prev=before.head.hex() if before and before.count else None,
            job_seq=None if before is None else before.count,
            kind=draft.kind,
            occurred=draft.occurred or entries_.occurred(stamp.wall_ns),
            recorded=Recorded(
                None if stamp.boot_ns is None else str(stamp.boot_ns),
                self._boot_id,
                str(stamp.mono_ns),
                self._process,
                self._clock.rate,
                str(stamp.wall_ns),
            ),
            salt=secrets.token_hex(16),
            seq=self._edge.size,
        )

    def _catch_up(self) -> None:
        """Bring edge and job heads to the entries on disk. Raises JournalError when there are fewer than were seen."""
        size = self.size
        if size < self._edge.size:
            raise JournalError(
                f"the journal had {self._edge.size} entries and now has {size}", hint="run a check of the journal"
            )
        if size == self._edge.size:
            return
        try:
            self._jobs.clear()
            self._edge = self.tree.edge(size)
        except sqlite3.Error as error:
            raise JournalError(f"the journal cannot be read: {error}", hint="run a check of the journal") from error

    def _roll_back(self) -> None:
        """Undo an open transaction and forget what was derived inside it: whether it was committed is read anew."""
        self._edge = merkle.Range()
        self._jobs.clear()
        self.tree.forget()
        if self.connection.in_transaction:
            self.connection.execute("ROLLBACK")

    def _edge_head(self) -> Head:
        return Head(self._edge.size, self._edge.root())

    def _note_head(self) -> None:
        if self._head_file is None:
            self._head_file = heads.HeadFile(heads.path_of(self.path))
        self._head_file.write(self._slot, self._clock.mono_ns())

    def _compare_with_head_file(self) -> None:
        noted = heads.read(heads.path_of(self.path))
        self._catch_up()
        size = self._edge.size
        if noted is None:
            raise JournalError("the head file is damaged", hint=_LOST)
        if noted.size > size:
            what = f"the end is damaged: {noted.size} entries were acknowledged, {size} are left"
            raise JournalError(what, hint=_LOST)
        if noted.root != self.tree.edge(noted.size).root():
            raise JournalError(
                f"entries below {noted.size} are not those that were written", hint="run a check of the journal"
            )
        if noted.size < size:
            self._slot = heads.slot(self._edge_head())
            self._note_head()


_LOST = "run a check; then restore the second copy or, where there is none, see `witnessmark accept-loss`"


def _read(seq: int, text: bytes) -> Entry:
    try:
        found = entries_.parse(text, place=f"entry {seq}")
    except InputError as error:
        raise JournalError(f"{error}", hint="run a check of the journal: this entry is damaged") from error
    if found.seq != seq:
        raise JournalError(f"entry {seq} says that it is {found.seq}", hint="run a check of the journal")
    return found


def _kept_row(kept: Kept) -> tuple[str, ...]:
    text = canonical.encode(kept.value).decode()
    return (kept.commitment, kept.job, kept.field, kept.salt, text, commitment.plain_form(kept.value))


def _hint(error: sqlite3.Error) -> str:
    if "locked" in str(error):
        return "another program is writing; try again, and end that one if it hangs"
    return "check the disk: is it full, read-only or failing?"


def _check_origin(origin: str) -> None:
    if not origin or not origin.isascii() or not origin.isprintable() or " " in origin or "+" in origin:
        raise InputError(
            f"{origin!r} is no origin",
            place="origin",
            hint="use one word like bay1.depot.example, without + and spaces",
        )
