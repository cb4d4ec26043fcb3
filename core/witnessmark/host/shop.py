"""A shop on disk: one folder with its journal and what lies beside it, and the clock it lives by.

Flows in: a folder. Flows out: its journal, opened to read or to write. Rules that hold here: reading makes nothing;
the first writing makes the journal, whose origin names this bay.
"""

from __future__ import annotations

import os
import re
import socket
from dataclasses import dataclass, field
from pathlib import Path

from witnessmark.clock import Clock, SystemClock
from witnessmark.errors import InputError, JournalError
from witnessmark.journal import keys, sealing
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
        if not self.journal_path.exists():
            raise JournalError(
                f"there is no journal in {self.folder}",
                hint="open a job with `witnessmark job open`, or name the shop's folder with --shop",
            )
        return Journal.open(self.journal_path, self.clock)

    def write(self, origin: str = "") -> Journal:
        """Open the journal for writing; make it first where there is none. Raises JournalError when it cannot be."""
        if self.journal_path.exists():
            return Journal.open(self.journal_path, self.clock, write=True)
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise JournalError(
                f"the folder {self.folder} cannot be made: {error.strerror}", hint="name another folder with --shop"
            ) from error
        return Journal.create(self.journal_path, origin or default_origin(), self.clock)

    def evidence(self, job: str, passphrase: str | None = None) -> bytes:
        """Return the evidence file of `job`: sealed with the shop's key when there is a `passphrase`, else without.

        Raises InputError when there is no such job or the passphrase is wrong.
        """
        if passphrase is None:
            with self.read() as journal:
                return sealing.unsealed_evidence(journal, job)
        with self.write() as journal:
            signer = keys.load(journal, passphrase)
            sealed = sealing.seal_job(journal, signer, job, "machine:journal", sheet=False, why="evidence")
            return sealing.evidence_of(journal, job, sealed.note)

    def has_key(self) -> bool:
        with self.read() as journal:
            return keys.current(journal) is not None

    def evidence_or_file(self, target: str) -> tuple[bytes, str]:
        """Return evidence bytes and their name, for a job id or the path of an evidence file.

        A file wins over a job of the same name. Raises InputError when it is neither.
        """
        path = Path(target)
        if path.is_file():
            try:
                return path.read_bytes(), path.name
            except OSError as error:
                raise InputError(f"cannot be read: {error.strerror}", place=target, hint="check its rights") from error
        if path.suffix or "/" in target:
            raise InputError("there is no such file", place=target, hint="give an evidence file, or a job's id")
        return self.evidence(target), f"job {target}"


def default_folder() -> Path:
    """Return the shop's folder: WITNESSMARK_SHOP, else `witnessmark` in the user's data folder (XDG Base Directory)."""
    named = os.environ.get("WITNESSMARK_SHOP", "")
    data = os.environ.get("XDG_DATA_HOME", "")
    return Path(named) if named else (Path(data) if data else Path.home() / ".local" / "share") / "witnessmark"


def default_origin() -> str:
    """Return a name for this bay's journal, made from the machine's name."""
    name = re.sub(r"[^A-Za-z0-9.-]+", "-", socket.gethostname()).strip("-.") or "bay"
    return f"{name}.witnessmark.invalid"
