"""A second copy of the journal, and taking it back.

A journal flows in, a verified copy flows out. Rules that hold here: the copy is made through SQLite's own backup, so
that others may go on writing; it is checked before it takes its name; neither copying nor restoring ever replaces a
history by one that does not go on from it, and a restore keeps what was there under another name. The private key is
not copied.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

from witnessmark.clock import Clock
from witnessmark.errors import JournalError
from witnessmark.journal import attachment, lock, tables
from witnessmark.journal import head as heads
from witnessmark.journal.check import Check, check
from witnessmark.journal.entry import Draft
from witnessmark.journal.head import Head
from witnessmark.journal.store import Journal


def copy(source: Path, target: Path, clock: Clock) -> Check:
    """Copy the journal at `source`, with its files, to `target`, and return how the copy was found.

    An older copy of the same journal is replaced. Raises JournalError when what is at `target` is not such a copy, or
    the copy is damaged; what was there is then still there.
    """
    with Journal.open(source, clock) as journal:
        _check_goes_on(journal, target, clock)
        found = _copy_to(journal, _draft(target), clock)
    _put_in_place(target, None)
    _copy_files(source, target)
    return found


def restore(source: Path, target: Path, clock: Clock, by: str, *, accept_shorter: bool = False) -> Check:
    """Put the copy at `source` in the place of the journal at `target`, and return how it was found.

    Nobody may have the journal open. Raises JournalError when the journal there is longer than the copy (by its entries
    or by its head file) or another one; with `accept_shorter` it is replaced even so, and an entry says by how much it
    was longer. The files that were there are kept with `.before` and a number in their name.
    """
    with lock.Lock(lock.path_of(target), "restore", clock), Journal.open(source, clock) as journal:
        size, noted = journal.size, _noted(target)
        longer = noted is not None and noted.size > size
        if longer and not accept_shorter:
            assert noted is not None
            raise JournalError(
                f"the journal there has {noted.size} entries, the copy {size}",
                hint="use a newer copy; or accept that the entries after it are lost, which will be recorded",
            )
        if not longer and not _acknowledged(journal, noted):
            _check_goes_on(journal, target, clock)
        found = _copy_to(journal, _draft(target), clock)
        _put_in_place(target, _before(target))
        _copy_files(source, target)
    with Journal.open(target, clock, write=True) as restored:
        body = {"restored_from": size, "was": None if noted is None else {"root": noted.root, "size": noted.size}}
        restored.append(Draft("note", None, by, body=body))
    return found


def _acknowledged(journal: Journal, noted: Head | None) -> bool:
    """Tell whether `journal` goes on from what a head file knows, whatever became of the database beside it."""
    return noted is not None and noted.size > 0 and journal.tree.edge(noted.size).root() == noted.root


def _copy_to(journal: Journal, draft: Path, clock: Clock) -> Check:
    """Write a copy under the name `draft`, with its head file, and check it."""
    try:
        _remove(draft)
        with closing(sqlite3.connect(draft, isolation_level=None)) as copied:
            journal.connection.backup(copied, pages=256)
            copied.execute("PRAGMA journal_mode=DELETE")
            copied.execute("PRAGMA journal_mode=WAL")
        with Journal(draft, tables.connect(draft, write=False), clock, write=False) as made:
            head = made.head()
        file = heads.HeadFile(heads.path_of(draft))
        file.write(heads.slot(head), clock.mono_ns())
        file.close()
        found = check(draft, clock)
    except (sqlite3.Error, OSError) as error:
        what = f"the copy cannot be written to {draft.parent}: {error}"
        raise JournalError(what, hint="check the disk it goes to") from error
    if found.damage:
        raise JournalError(f"the copy is damaged: {found.damage[0].text}", hint="run a check of the journal itself")
    return found


def _check_goes_on(journal: Journal, target: Path, clock: Clock) -> None:
    """Raise JournalError unless nothing is at `target`, or a journal that `journal` goes on from."""
    if not target.exists():
        return
    with Journal.open(target, clock) as there:
        head = there.head()
    size = journal.size
    if head.size > size:
        raise JournalError(f"the one there has {head.size} entries, this one {size}", hint="it is newer; keep it")
    if journal.tree.edge(head.size).root() != head.root:
        raise JournalError("the one there is of another journal", hint="choose another name for the copy")


def _noted(target: Path) -> Head | None:
    """Return what the head file of `target` knows, which may be more than its database still has."""
    path = heads.path_of(target)
    return heads.read(path) if path.exists() else None


def _put_in_place(target: Path, aside: Path | None) -> None:
    """Give the checked draft its name; what was there goes to `aside`, or is replaced."""
    draft = _draft(target)
    try:
        for name in ("-wal", "-shm", ""):
            old = target.with_name(target.name + name)
            if old.exists() and aside is not None:
                os.replace(old, aside.with_name(aside.name + name))
            elif name:
                old.unlink(missing_ok=True)
        if aside is not None and heads.path_of(target).exists():
            os.replace(heads.path_of(target), heads.path_of(aside))
        os.replace(heads.path_of(draft), heads.path_of(target))
        os.replace(draft, target)
        _remove(draft)
    except OSError as error:
        what = f"the copy cannot take its place at {target}: {error}"
        raise JournalError(what, hint="check the folder and disk") from error


def _copy_files(source: Path, target: Path) -> None:
    """Copy the attached files that are not there yet."""
    folder, there = attachment.folder_of(source), attachment.folder_of(target)
    if not folder.is_dir():
        return
    try:
        there.mkdir(exist_ok=True)
        for file in folder.iterdir():
            if attachment.state_of(there / file.name, file.name) != "there":
                shutil.copyfile(file, there / file.name)
    except OSError as error:
        raise JournalError(f"an attached file cannot be copied: {error}", hint="check the disk it goes to") from error


def _draft(target: Path) -> Path:
    return target.with_name(target.name + ".new")


def _before(target: Path) -> Path:
    number = 1
    while (path := target.with_name(f"{target.name}.before{number}")).exists():
        number += 1
    return path


def _remove(path: Path) -> None:
    for name in ("", "-wal", "-shm", ".head"):
        path.with_name(path.name + name).unlink(missing_ok=True)
