"""A shop on disk: one folder with its journal and what lies beside it, and the clock it lives by.

Flows in: a folder. Flows out: its journal, opened to read or to write. Rules that hold here: reading makes nothing;
the first writing makes the journal, whose origin names this bay.
"""

from __future__ import annotations

import os
import re
import socket
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from witnessmark.clock import Clock, SystemClock
from witnessmark.errors import JournalError
from witnessmark.journal import keys, sealing
from witnessmark.journal import lock as locks
from witnessmark.journal.checkpoint import Note
from witnessmark.journal.store import Journal

JOURNAL = "journal.db"


@dataclass(frozen=True)
class Shop:
    """The folder of one bay. Nothing is opened until it is asked for."""

    folder: Path
    clock: Clock = field(default_factory=SystemClock)

    @property
    def journal_path(self) -> Path:
        return self.folder / JOURNAL

    def read(self) -> Journal:
        """Open the journal for reading. Raises JournalError when there is none yet, or it cannot be opened."""
        self.need_journal()
        return Journal.open(self.journal_path, self.clock)

    def need_journal(self) -> None:
        """Raise JournalError when there is no journal yet: for what makes sense only with one."""
        if not self.journal_path.exists():
            raise JournalError(
                f"there is no journal in {self.folder}",
                hint="open a job with `witnessmark job open`, or name the shop's folder with --shop",
            )

    def need_key(self) -> None:
        """Raise JournalError when the journal has no key."""
        if not self.has_key():
            raise JournalError("the journal has no key", hint="make one with `witnessmark key new`")

    def make_folder(self) -> None:
        """Make the shop's folder where there is none. Raises JournalError when it cannot be."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise JournalError(
                f"the folder {self.folder} cannot be made: {error.strerror}", hint="name another folder with --shop"
            ) from error

    def write(self, origin: str = "") -> Journal:
        """Open the journal for writing; make it first where there is none. Raises JournalError when it cannot be."""
        if self.journal_path.exists():
            return Journal.open(self.journal_path, self.clock, write=True)
        self.make_folder()
        return Journal.create(self.journal_path, origin or default_origin(), self.clock)

    @contextmanager
    def quiet(self, who: str) -> Iterator[Journal]:
        """Open the journal for writing while no runner holds it. Raises JournalError when one does."""
        self.need_journal()
        with locks.Lock(locks.path_of(self.journal_path), who, SystemClock()), self.write() as journal:
            yield journal

    @contextmanager
    def beside(self, job: str, who: str) -> Iterator[Journal]:
        """Open the journal for writing of one job; a runner may go on with another. Raises JournalError while somebody
        works on this job, or on the journal itself."""
        self.need_journal()
        with locks.beside(locks.path_of(self.journal_path), who, SystemClock(), job), self.write() as journal:
            yield journal

    def is_worked_on(self, job: str) -> bool:
        """Whether a runner is at work on `job` at this moment."""
        try:
            with locks.beside(locks.path_of(self.journal_path), "a look", SystemClock(), job):
                return False
        except locks.InUse as busy:
            return busy.job == job

    def evidence(self, job: str, passphrase: str | None = None, also: Sequence[Note] = ()) -> bytes:
        """Return the evidence file of `job`: sealed with the shop's key when there is a `passphrase`, else without.

        Sealed, it leads from each checkpoint in `also` too. Raises InputError when there is no such job, the
        passphrase is wrong, or one of `also` is not of this journal.
        """
        if passphrase is None:
            with self.read() as journal:
                return sealing.unsealed_evidence(journal, job)
        with self.write() as journal:
            signer = keys.load(journal, passphrase)
            sealed = sealing.seal_job(journal, signer, job, "machine:journal", sheet=False, why="evidence")
            return sealing.evidence_of(journal, job, sealed.note, also)

    def has_key(self) -> bool:
        with self.read() as journal:
            return keys.current(journal) is not None


def default_folder() -> Path:
    """Return the shop's folder: WITNESSMARK_SHOP, else `witnessmark` in the user's data folder (XDG Base Directory)."""
    named = os.environ.get("WITNESSMARK_SHOP", "")
    data = os.environ.get("XDG_DATA_HOME", "")
    return Path(named) if named else (Path(data) if data else Path.home() / ".local" / "share") / "witnessmark"


def default_origin() -> str:
    """Return a name for this bay's journal, made from the machine's name."""
    name = re.sub(r"[^A-Za-z0-9.-]+", "-", socket.gethostname()).strip("-.") or "bay"
    return f"{name}.witnessmark.invalid"
