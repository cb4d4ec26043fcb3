"""A job goes on at another bay: the old journal says that it went, and the new one's first entry for it cites the old.

The old bay's evidence flows in, a `moved` entry flows out. Rules that hold here: the file is verified by whoever calls
(`audit.verify`) before it is taken; the entry cites the old journal's origin, the job's count and head there, and the
checkpoint, and keeps the file's own hash, under which the file lies with the attachments. The old entries stay in
the old file: a sheet of the job shows both. A bay knows that a job left it only when it was told (`hand_over`); after
that nothing more is done on it there. A job that has moved before needs the files of all its bays.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from witnessmark.errors import InputError, JournalError
from witnessmark.journal import attachment, evidence, merkle
from witnessmark.journal import checkpoint as checkpoints
from witnessmark.journal import entry as entries
from witnessmark.journal.entry import Draft, Entry

if TYPE_CHECKING:
    from witnessmark.journal.store import Journal


def take_over(
    journal: Journal,
    file: Path,
    by: str,
    *,
    job: str | None = None,
    earlier: Sequence[Path] = (),
    personal: Mapping[str, str] | None = None,
    owed: int | None = None,
    then: Sequence[Draft] = (),
) -> Entry:
    """Begin a job here that goes on from the evidence in `file`, and return the `moved` entry.

    It keeps its name unless `job` gives another. `earlier` are the files of the bays before that one, in order;
    `personal` is plate and customer, kept beside the entry; `owed` is the entry there of a run that something is still
    owed for (to look, to tell its result), for which the new entry stands here; `then` what is written in the same
    moment. Raises InputError when a file is no sound evidence file or does not go on from the one before, JournalError
    when this journal has a job of that name already.
    """
    old = read(file)
    if old[0][1].job is None:
        raise InputError("there is no job in it", place=str(file), hint="export the job's evidence at the other bay")
    check_goes_on([(str(one), one_bytes(one)) for one in (*earlier, file)])
    new = job or old[0][1].job
    check_name(journal, new)
    for one in earlier:
        attachment.keep_file(journal, one)
    kept, _ = attachment.keep_file(journal, file)
    document = evidence.read(one_bytes(file), name=str(file))
    first = read(earlier[0])[0][1] if earlier else old[0][1]
    body = {
        "count": len(old),
        "evidence": kept,
        "head": merkle.leaf_hash(old[-1][0]).hex(),
        "job": old[0][1].job,
        "marked": marked([one for _, one in old]),
        "note": None if document.proof is None else document.proof.checkpoint,
        "origin": _origin(document),
        "vehicle": first.body.get("vehicle", {}),
        **(personal or {}),
        **({} if owed is None else {"owed": owed}),
    }
    return journal.append_many([Draft("moved", new, by, body=body), *then])[0]


def hand_over(journal: Journal, job: str, to: str | None, by: str) -> Entry:
    """Write that `job` goes to the bay called `to`, or (None) that it did not go, and return the entry.

    Raises InputError for a name that is none, JournalError when it says so already.
    """
    if to is not None and not _NAME.fullmatch(to):
        hint = "one word as the shop calls it, of letters, digits, dot, dash and underscore: no person, no sentence"
        raise InputError(f"{to!r} is no bay's name", place="--to", hint=hint)
    before = handed_over(journal, job)
    if before is not None and to is not None:
        raise JournalError(f"{_went(job, before)} already", hint=f"write its file again: witnessmark evidence {job}")
    if before is None and to is None:
        raise JournalError(f"job {job} did not go to another bay", hint="go on with it")
    return journal.append(Draft("handed-over", job, by, body={"to": to}))


def handed_over(journal: Journal, job: str) -> Entry | None:
    """Return the entry by which `job` went to another bay; None while it is here."""
    said = list(journal.entries(job, kind="handed-over"))
    return said[-1] if said and said[-1].body.get("to") else None


def check_here(journal: Journal, job: str) -> None:
    """Raise JournalError when `job` went to another bay: nothing more is done on it here."""
    gone = handed_over(journal, job)
    if gone is not None:
        hint = f"go on with it there; if it never went: witnessmark job move {job} --back"
        raise JournalError(_went(job, gone), hint=hint)


def _went(job: str, gone: Entry) -> str:
    return f"job {job} went to {gone.body['to']} (entry {gone.seq})"


def marked(last: Sequence[Entry]) -> bool:
    """Tell whether the bay whose entries these are knew that the job leaves it."""
    return bool(last) and last[-1].kind == "handed-over" and bool(last[-1].body.get("to"))


_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")


def check_name(journal: Journal, job: str) -> None:
    """Raise JournalError when this journal has a job of that name already."""
    if journal.job_head(job).count:
        raise JournalError(f"this journal has a job {job!r} already", hint="give the job another name here, with --as")


def earlier_evidence(journal: Journal, job: str) -> list[bytes]:
    """Return the evidence files that `job` goes on from, the first bay's first; none when it began here.

    Raises JournalError when one is missing or changed.
    """
    first = next(journal.entries(job), None)
    found: list[bytes] = []
    while first is not None and first.kind == "moved":
        path = attachment.folder_of(journal.path) / str(first.body["evidence"])
        if attachment.state_of(path, path.name) != "there":
            raise JournalError(f"the evidence file {path} is missing or changed", hint="put back the other bay's file")
        found.insert(0, one_bytes(path))
        first = read(path)[0][1]
    return found


def check_goes_on(parts: Sequence[tuple[str, bytes]]) -> None:
    """Raise InputError, naming the file, unless each of `parts` (name, bytes) goes on from exactly the one before."""
    before = ""
    for name, data in parts:
        first = _read(data, name)[0][1]
        wanted = str(first.body.get("evidence", "")) if first.kind == "moved" else ""
        if wanted != before:
            hint = "give the evidence file of each bay before, in order, with --earlier" if wanted else "leave it away"
            what = "the job moved here from another bay" if wanted else "the job began in this file, not in one before"
            raise InputError(what if not (wanted and before) else "it goes on from another file", place=name, hint=hint)
        before = sha256(data).hexdigest()


def read(file: Path) -> list[tuple[bytes, Entry]]:
    """Return text and entry of all that is in an evidence file. Raises InputError when it is none, or it is empty."""
    return _read(one_bytes(file), str(file))


def one_bytes(file: Path) -> bytes:
    """Return what is in `file`. Raises InputError naming it."""
    try:
        return file.read_bytes()
    except OSError as error:
        raise InputError(f"it cannot be read: {error.strerror}", place=str(file), hint="check the path") from error


def _read(data: bytes, name: str) -> list[tuple[bytes, Entry]]:
    texts = [bytes(text) for text in evidence.read(data, name=name).entries]
    if not texts:
        raise InputError("there is no job in it", place=name, hint="export the job's evidence at the other bay")
    return [(text, entries.parse(text, place=f"{name}, entries[{number}]")) for number, text in enumerate(texts)]


def _origin(document: evidence.Evidence) -> str | None:
    if document.proof is None:
        return None
    note = checkpoints.parse_note(document.proof.checkpoint, place="proof.checkpoint")
    return checkpoints.parse_checkpoint(note.text, place="proof.checkpoint").origin
