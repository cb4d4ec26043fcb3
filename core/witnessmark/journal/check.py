"""Is a journal whole? Database, log, head file, tree and checkpoints are read, never written.

A path flows in, a `Check` flows out that names each damage found and how many entries stand before it; those can still
be exported. Memory stays flat however long the journal is. Rules that hold here: damage is data; `intact` is said only
against a checkpoint held elsewhere.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain, islice
from pathlib import Path
from typing import Literal

from witnessmark.clock import Clock
from witnessmark.errors import InputError, JournalError
from witnessmark.journal import checkpoint as checkpoints
from witnessmark.journal import entry as entries
from witnessmark.journal import evidence, merkle
from witnessmark.journal import head as heads
from witnessmark.journal.checkpoint import Checkpoint, Note, PublicKey
from witnessmark.journal.entry import Entry, LaterFormat
from witnessmark.journal.head import Head
from witnessmark.journal.rows import blocks
from witnessmark.journal.store import Journal
from witnessmark.journal.tables import LaterTables
from witnessmark.journal.tree import LEVEL

Verdict = Literal["intact", "consistent, unanchored", "end damaged", "altered", "entries missing", "wrong key"]

Where = Literal["database", "head file", "entry", "tree", "checkpoint"]


@dataclass(frozen=True, slots=True)
class Damage:
    """What is damaged (`database`, `head file`, `entry`, `tree`, `checkpoint`), in words, and at which entry."""

    where: Where
    verdict: Verdict
    text: str
    seq: int | None = None


@dataclass(frozen=True, slots=True)
class Signed:
    """The last checkpoint in the journal: its entry, how many entries it covers, and whose key signed it."""

    seq: int
    size: int
    key: PublicKey


@dataclass(frozen=True, slots=True)
class Check:
    """How a journal was found.

    `size` counts the entries before the first damage that can be told to an entry; `root` is over all that can be read.
    """

    size: int
    root: bytes
    damage: tuple[Damage, ...]
    anchor_size: int | None = None
    signed: Signed | None = None

    @property
    def verdict(self) -> Verdict:
        if self.damage:
            return self.damage[0].verdict
        return "consistent, unanchored" if self.anchor_size is None else "intact"


def check(path: Path, clock: Clock, anchor: Note | None = None, *, database: bool = True) -> Check:
    """Check the journal at `path`, against the signed checkpoint `anchor` where somebody holds one.

    `database` also runs SQLite's own check of pages and indexes. Raises InputError when the anchor was read in wrongly,
    LaterFormat or LaterTables when a later version wrote the journal.
    """
    try:
        journal = Journal.open(path, clock)
    except LaterTables:
        raise
    except JournalError as error:
        return Check(0, merkle.EMPTY_ROOT, (Damage("database", "end damaged", error.what),))
    with journal:
        return check_open(journal, anchor, database=database)


def check_open(journal: Journal, anchor: Note | None = None, *, database: bool = True) -> Check:
    """Check a journal that is open, as `check` does: inside a snapshot it is the state that the snapshot shows."""
    return _Walk(journal, anchor).check(database)


def rescue(path: Path, clock: Clock, job: str) -> bytes:
    """Return the evidence file, without proof, of the entries of `job` that stand before the first damage.

    Raises JournalError when the database cannot be opened, InputError when no entry of the job stands there.
    """
    with Journal.open(path, clock) as journal:
        sound = _Walk(journal, None).check(database=False).size
        rows = chain.from_iterable(blocks(journal))
        sound_texts = (text for _, text in islice(rows, sound))
        found = [text for text in sound_texts if entries.spelled(text).job == job]
    if not found:
        raise InputError(f"no entry of job {job!r} stands before the damage", place="job", hint="try the second copy")
    return evidence.write(found, None)


class _Walk:
    """One pass over a journal. Keeps the edge of the tree, the head of each job, and the roots at sizes of interest."""

    def __init__(self, journal: Journal, anchor: Note | None) -> None:
        self._journal = journal
        self._anchor = anchor
        self._held = None if anchor is None else checkpoints.parse_checkpoint(anchor.text, place="anchor")
        self._edge = merkle.Range()
        self._jobs: dict[str, tuple[int, bytes | None, int]] = {}
        self._keys: list[PublicKey] = []
        self._roots: dict[int, bytes] = {}
        self._said: list[tuple[int, Checkpoint]] = []
        self._signed: Signed | None = None
        self._damage: list[Damage] = []
        self._head: Head | None = None

    def check(self, database: bool) -> Check:
        noted = self._head = self._noted()
        for size in self._sizes(noted):
            self._roots[size] = b""
        self._walk()
        self._compare(noted)
        if database:
            self._check_database()
        anchored = None if self._held is None or self._damage else self._held.size
        return Check(self._sound(noted), self._edge.root(), tuple(self._damage), anchored, self._signed)

    def _sound(self, noted: Head | None) -> int:
        """Return how many entries stand before the first damage. A kept hash is none where the head file vouches."""
        size = self._edge.size
        vouched = noted is not None and self._roots.get(noted.size) == noted.root
        places = [one.seq for one in self._damage if one.seq is not None and not (vouched and one.where == "tree")]
        return min([size, *places])

    def _noted(self) -> Head | None:
        try:
            noted = heads.read(heads.path_of(self._journal.path))
        except JournalError as error:
            self._found("head file", "end damaged", error.what)
            return None
        if noted is None:
            self._found("head file", "end damaged", "the head file is damaged: a lost end would not show")
        return noted

    def _sizes(self, noted: Head | None) -> Iterator[int]:
        if noted is not None:
            yield noted.size
        if self._held is not None:
            yield self._held.size
        try:
            for kind in ("checkpoint", "sheet"):
                for entry in self._journal.entries(kind=kind):
                    yield checkpoints.parse_checkpoint(checkpoints.parse_note(entry.body["note"]).text).size
        except (JournalError, InputError, KeyError):
            return  # the walk itself names the entry

    def _walk(self) -> None:
        """Read entries in blocks of the kept subtrees' width until the end or the first damage."""
        try:
            for rows in blocks(self._journal):
                if not self._take(rows):
                    return
        except sqlite3.Error as error:
            seq = self._edge.size
            self._found("database", "end damaged", f"it cannot be read from entry {seq} on: {error}", seq)

    def _take(self, rows: list[tuple[int, bytes]]) -> bool:
        """Add a block of entries up to the first damage. Returns whether there was none."""
        found, fault = _read(rows)
        leaves = merkle.leaf_hashes([text for _, text in rows[: len(found)]])
        if fault is None and self._in_place(rows, found) and self._chained(found, leaves):
            self._add(leaves)
            return True
        jobs, wanted = self._jobs, self._edge.size
        for number, ((seq, _), entry, leaf) in enumerate(zip(rows, found, leaves, strict=False)):
            job, stop = entry.job, None
            if seq != wanted + number or entry.seq != seq or entry.format != entries.FORMAT:
                stop = self._misplaced(entry, seq, wanted + number)
            elif job is not None:
                count, head, last = jobs.get(job, _NO_JOB)
                if entry.job_seq != count or entry.job_prev != (head and head.hex()):
                    said = f"entry {last} is not the one that entry {seq} of job {job} was written after"
                    stop = Damage("entry", "altered", said, last if count else seq)
                else:
                    jobs[job] = (count + 1, leaf, seq)
            if stop is None and entry.kind in _NOTEWORTHY:
                stop = self._noteworthy(entry)
            if stop is not None:
                fault = stop
                del leaves[number:]
                break
        self._add(leaves)
        if fault is not None:
            self._damage.append(fault)
        return fault is None

    def _misplaced(self, entry: Entry, seq: int, wanted: int) -> Damage:
        """Return what is wrong with an entry in the wrong place, or of another format.

        Raises LaterFormat for one of a later format that was written so: the head file vouches for its bytes.
        """
        if seq != wanted:
            return Damage("entry", "entries missing", f"entries {wanted} to {seq - 1} are missing", wanted)
        if entry.seq != seq:
            return Damage("entry", "altered", f"entry {seq} says that it is {entry.seq}", seq)
        if entry.format > entries.FORMAT and self._acknowledged():
            hint = "use a newer version of witnessmark"
            raise LaterFormat(f"it has format {entry.format}", place=f"entry {seq}", hint=hint)
        return Damage("entry", "altered", f"entry {seq} says that its format is {entry.format}", seq)

    def _acknowledged(self) -> bool:
        """Tell whether the bytes on disk, whatever they say, are those that the head file knows."""
        edge, noted = merkle.Range(), self._head
        for _, text in chain.from_iterable(blocks(self._journal)):
            if noted is not None and edge.size < noted.size:
                edge.append(merkle.leaf_hash(text))
        return noted is not None and (edge.size, edge.root()) == (noted.size, noted.root)

    def _in_place(self, rows: list[tuple[int, bytes]], found: list[Entry]) -> bool:
        """Tell whether a block stands where it says, has this format, and holds nothing worth more than its chain."""
        wanted = list(range(self._edge.size, self._edge.size + len(rows)))
        return (
            [seq for seq, _ in rows] == wanted
            and [entry.seq for entry in found] == wanted
            and {entry.format for entry in found} == {entries.FORMAT}
            and _NOTEWORTHY.isdisjoint([entry.kind for entry in found])
        )

    def _chained(self, found: list[Entry], leaves: list[bytes]) -> bool:
        """Take in the job chains of a block; where one is broken nothing is taken in. Returns whether none is."""
        news: dict[str, tuple[int, bytes | None, int]] = {}
        job: str | None = None
        count, head, seq = _NO_JOB
        for entry, leaf in zip(found, leaves, strict=True):
            if entry.job != job:
                if job is not None:
                    news[job] = (count, head, seq)
                job = entry.job
                if job is not None:
                    count, head, seq = news.get(job) or self._jobs.get(job, _NO_JOB)
            if job is not None:
                if entry.job_seq != count or entry.job_prev != (head and head.hex()):
                    return False
                count, head, seq = count + 1, leaf, entry.seq
        if job is not None:
            news[job] = (count, head, seq)
        self._jobs.update(news)
        return True

    def _noteworthy(self, entry: Entry) -> Damage | None:
        """Take in a key; hold a checkpoint against the keys so far. Its root is compared at the end."""
        try:
            if entry.kind == "key":
                self._keys.append(checkpoints.parse_key(str(entry.body.get("key"))))
                return None
            note = checkpoints.parse_note(str(entry.body.get("note")))
            said = checkpoints.parse_checkpoint(note.text)
        except InputError as error:
            return Damage("checkpoint", "altered", f"entry {entry.seq}: {error.what}", entry.seq)
        signer, holds = checkpoints.signer_of(note, self._keys)
        if signer is None:
            return Damage(
                "checkpoint", "wrong key", f"entry {entry.seq} is signed by a key not of this journal", entry.seq
            )
        if not holds:
            return Damage("checkpoint", "altered", f"the signature in entry {entry.seq} does not hold", entry.seq)
        self._said.append((entry.seq, said))
        self._signed = Signed(entry.seq, said.size, signer)
        return None

    def _add(self, block: list[bytes]) -> None:
        begin, end = self._edge.size, self._edge.size + len(block)
        if len(block) == 1 << LEVEL and not any(begin < size < end for size in self._roots):
            top = merkle.levels(block)[LEVEL][0]
            wider = self._edge.append_subtree(LEVEL, top)
            self._compare_kept([(LEVEL, begin >> LEVEL, top), *wider])
        else:
            for leaf in block:
                self._edge.append(leaf)
                self._take_root()
        self._take_root()

    def _take_root(self) -> None:
        if self._edge.size in self._roots:
            self._roots[self._edge.size] = self._edge.root()

    def _compare_kept(self, made: list[tuple[int, int, bytes]]) -> None:
        for level, index, value in made:
            query = "SELECT hash FROM subtrees WHERE level = ? AND place = ?"
            row = self._journal.connection.execute(query, (level, index)).fetchone()
            if row is not None and row[0] != value:
                self._found(
                    "tree", "altered", f"the kept hash {level}/{index} is not that of the entries", index << level
                )

    def _compare(self, noted: Head | None) -> None:
        size = self._edge.size
        if noted is not None and noted.size > size:
            text = f"{noted.size} entries were acknowledged, {size} are sound"
            self._found("head file", "end damaged", text, size)
        elif noted is not None and self._roots[noted.size] != noted.root:
            self._found("head file", "altered", f"the first {noted.size} entries are not those that were written")
        for seq, said in self._said:
            if said.size > seq or (self._roots.get(said.size) or said.root) != said.root:
                self._found("checkpoint", "altered", f"entry {seq} signs another tree of size {said.size}", seq)
        if self._anchor is not None and self._held is not None:
            self._compare_anchor(self._anchor, self._held)

    def _compare_anchor(self, anchor: Note, held: Checkpoint) -> None:
        signer, holds = checkpoints.signer_of(anchor, self._keys)
        if signer is None:
            text = f"the anchor is of journal {held.origin}, signed by a key that is not this journal's"
            self._found("checkpoint", "wrong key", text)
        elif not holds:
            raise InputError(
                "its signature does not hold", place="anchor", hint="read it in again; a letter may be wrong"
            )
        elif held.size > self._edge.size:
            text = f"the anchor counts {held.size} entries, {self._edge.size} are sound"
            self._found("checkpoint", "entries missing", text, self._edge.size)
        elif self._roots[held.size] != held.root:
            self._found("checkpoint", "altered", f"the first {held.size} entries are not those that the anchor signed")

    def _check_database(self) -> None:
        try:
            said = [row[0] for row in self._journal.connection.execute("PRAGMA integrity_check(10)")]
        except sqlite3.Error as error:
            said = [str(error)]
        if said != ["ok"]:
            self._found("database", "altered", f"SQLite finds: {'; '.join(said)}")

    def _found(self, where: Where, verdict: Verdict, text: str, seq: int | None = None) -> None:
        self._damage.append(Damage(where, verdict, text, seq))


def _read(rows: list[tuple[int, bytes]]) -> tuple[list[Entry], Damage | None]:
    """Return the entries up to the first that is not spelled as a journal writes it, and what is wrong with that."""
    found = entries.spelled_all([text for _, text in rows])
    if found is not None:
        return found, None
    found = []
    for seq, text in rows:
        try:
            found.append(entries.spelled(text))
        except InputError as error:
            return found, Damage("entry", "altered", f"entry {seq}: {error.what}", seq)
    return found, None


_NOTEWORTHY = frozenset(("checkpoint", "key", "sheet"))
_NO_JOB: tuple[int, bytes | None, int] = (0, None, 0)
