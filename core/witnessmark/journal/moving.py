"""A job goes on at another bay: its evidence file is read by the new journal, whose first entry for it cites the old.

The old bay's evidence flows in, a `moved` entry flows out. Rules that hold here: the file is verified by whoever calls
(`audit.verify`) before it is taken; the entry cites the old journal's origin, the job's count and head there, and the
checkpoint, and keeps the file's own hash, under which the file lies with the attachments. The old entries stay in
the old file: a sheet of the job shows both.
"""

from __future__ import annotations

from pathlib import Path

from witnessmark.errors import InputError, JournalError
from witnessmark.journal import attachment, evidence, merkle
from witnessmark.journal import checkpoint as checkpoints
from witnessmark.journal import entry as entries
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.store import Journal


def take_over(journal: Journal, file: Path, by: str, *, job: str | None = None) -> Entry:
    """Begin a job here that goes on from the evidence in `file`, and return the `moved` entry.

    It keeps its name unless `job` gives another. Raises InputError when the file is no sound evidence file,
    JournalError when this journal has a job of that name already.
    """
    document = evidence.read(_bytes(file), name=str(file))
    texts = [bytes(text) for text in document.entries]
    old = [entries.parse(text, place=f"{file}, entries[{number}]") for number, text in enumerate(texts)]
    if not old or old[0].job is None:
        raise InputError("there is no job in it", place=str(file), hint="export the job's evidence at the other bay")
    new = job or old[0].job
    if journal.job_head(new).count:
        raise JournalError(f"this journal has a job {new!r} already", hint="give the job another name here")
    kept, _ = attachment.keep_file(journal, file)
    body = {
        "count": len(old),
        "evidence": kept,
        "head": merkle.leaf_hash(texts[-1]).hex(),
        "job": old[0].job,
        "note": None if document.proof is None else document.proof.checkpoint,
        "origin": _origin(document),
    }
    return journal.append(Draft("moved", new, by, body=body))


def old_evidence(journal: Journal, job: str) -> bytes | None:
    """Return the evidence file that `job` goes on from, or None when it began here.

    Raises JournalError when the file is missing or changed.
    """
    first = next(journal.entries(job), None)
    if first is None or first.kind != "moved":
        return None
    path = attachment.folder_of(journal.path) / str(first.body["evidence"])
    if attachment.state_of(path, str(first.body["evidence"])) != "there":
        raise JournalError(f"the evidence file {path} is missing or changed", hint="put back the other bay's file")
    return _bytes(path)


def _origin(document: evidence.Evidence) -> str | None:
    if document.proof is None:
        return None
    note = checkpoints.parse_note(document.proof.checkpoint, place="proof.checkpoint")
    return checkpoints.parse_checkpoint(note.text, place="proof.checkpoint").origin


def _bytes(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise InputError(f"it cannot be read: {error.strerror}", place=str(file), hint="check the path") from error
