"""Photos and other files: they lie beside the journal under their hash, and enter by it.

A file flows in, an `attachment` entry flows out. Rules that hold here: the copy is on disk and synced before the entry
names it; the name of the copy is the SHA-256 of its bytes, so that the same file is kept once and a changed one shows.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import file_digest
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from witnessmark.errors import InputError, JournalError
from witnessmark.journal.entry import Draft, Entry

if TYPE_CHECKING:
    from witnessmark.journal.store import Journal
from witnessmark.journal.no_job import no_job

State = Literal["there", "missing", "changed"]


@dataclass(frozen=True, slots=True)
class Attached:
    """A file that an entry names, and how it stands now."""

    entry: Entry
    path: Path
    state: State


def folder_of(journal: Path) -> Path:
    """Return where the files of `journal` lie."""
    return journal.with_name(journal.name + ".files")


def attach(journal: Journal, job: str, file: Path, by: str, *, shows: str, target: int | None = None) -> Entry:
    """Copy `file` beside the journal and record its hash, size and name in an `attachment` entry.

    `shows` says what is seen on it, `target` is the entry that it belongs to. Raises InputError when there is no such
    job or entry of it, or the file cannot be read, JournalError when it cannot be kept; nothing is recorded then.
    """
    if not journal.job_head(job).count:
        raise no_job(job)
    if target is not None and journal.entry(target).job != job:
        raise InputError(f"entry {target} is not of job {job}", place="entry", hint="look it up with `job show`")
    digest, size = keep_file(journal, file)
    body: dict[str, Any] = {"name": file.name, "sha256": digest, "shows": shows, "size": size}
    if target is not None:
        body["target"] = target
    return journal.append(Draft("attachment", job, by, body=body))


def keep_file(journal: Journal, file: Path) -> tuple[str, int]:
    """Copy `file` beside the journal under its hash, and return hash and size. Records nothing; raises as `attach`."""
    digest, size = _digest(file)
    _keep(file, folder_of(journal.path) / digest, digest)
    return digest, size


def attached(journal: Journal, job: str | None = None) -> Iterator[Attached]:
    """Yield the files that entries name, of one job or all, each with its state as it is on disk now."""
    for entry in journal.entries(job, kind="attachment"):
        path = folder_of(journal.path) / str(entry.body.get("sha256"))
        yield Attached(entry, path, state_of(path, str(entry.body.get("sha256"))))


def state_of(path: Path, digest: str) -> State:
    """Tell whether `path` is there and still has this SHA-256."""
    try:
        return "there" if _digest(path)[0] == digest else "changed"
    except InputError:
        return "missing"


def _digest(path: Path) -> tuple[str, int]:
    try:
        with path.open("rb") as file:
            return file_digest(file, "sha256").hexdigest(), os.fstat(file.fileno()).st_size
    except OSError as error:
        raise InputError(
            f"the file cannot be read: {error.strerror}", place=str(path), hint="check the path"
        ) from error


def _keep(source: Path, target: Path, digest: str) -> None:
    if state_of(target, digest) == "there":
        return
    draft = target.with_name(target.name + ".new")
    try:
        target.parent.mkdir(exist_ok=True)
        with draft.open("wb") as file, source.open("rb") as origin:
            while block := origin.read(1 << 20):
                file.write(block)
            file.flush()
            os.fsync(file.fileno())
        if state_of(draft, digest) != "there":
            raise JournalError("the file changed while it was copied", hint="attach it again")
        os.replace(draft, target)
    except OSError as error:
        raise JournalError(f"the file cannot be kept: {error.strerror}", hint="check the disk") from error
