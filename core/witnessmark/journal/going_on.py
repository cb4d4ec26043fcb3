"""Where a job goes on: in one journal once, so that no two jobs of one record are worked on side by side.

A journal and the record of a job flow in, a refusal is an error. Rules that hold here: a job that was handed over or
abandoned goes on no more; a record is known by the hashes of its entries, under whatever name it was taken, and through
however many bays it came. What another bay's journal has cannot be known here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from witnessmark.errors import InputError, JournalError
from witnessmark.journal import entry as entries
from witnessmark.journal import merkle, moving
from witnessmark.journal.entry import Entry
from witnessmark.journal.evidence import read
from witnessmark.journal.store import Journal


def check_once(journal: Journal, file: bytes, name: str) -> None:
    """Raise InputError where the job in an evidence `file` of this `name` is of this journal or goes on here."""
    texts = [bytes(text) for text in read(file, name=name).entries]
    job = str(entries.parse(texts[0], place=name).job)
    if journal.job_head(job).count and merkle.leaf_hash(texts[-1]) in _hashes(journal.job_texts(job)):
        hint = f"if it did not go: witnessmark job move {job} --back"
        raise InputError(f"that is job {job} of this very journal", place=name, hint=hint)
    if here := _goes_on_as(journal, _hashes(texts)):
        hint = f"witnessmark job run {here}; another bay's later record of it is no second job"
        raise InputError(f"it goes on here already, as job {here}", place=name, hint=hint)


def check_away(journal: Journal, job: str) -> None:
    """Raise JournalError where `job`, which went to another bay, came back and goes on here under another name."""
    if here := _goes_on_as(journal, _hashes(journal.job_texts(job))):
        raise JournalError(f"job {job} came back: it goes on here as job {here}", hint=f"witnessmark job run {here}")


def _goes_on_as(journal: Journal, hashes: set[bytes]) -> str:
    """Return the job here that goes on from a record with these hashes; empty for none."""
    found = (
        one for one in journal.entries(kind="moved") if _goes_on(journal, one) and hashes & {*_heads(journal, one)}
    )
    return next((one.job or "" for one in found), "")


def _goes_on(journal: Journal, moved: Entry) -> bool:
    job = moved.job or ""
    states = [one.body.get("state") for one in journal.entries(job, kind="state")]
    return moving.handed_over(journal, job) is None and "abandoned" not in states


def _heads(journal: Journal, moved: Entry) -> Iterator[bytes]:
    """Yield the hash of the last entry of each bay's record that a job came with, or of the last alone."""
    yield bytes.fromhex(str(moved.body["head"]))
    try:
        files = moving.earlier_evidence(journal, moved.job or "")
    except JournalError:
        return
    yield from (merkle.leaf_hash(bytes(read(one).entries[-1])) for one in files)


def _hashes(texts: Iterable[bytes]) -> set[bytes]:
    return {merkle.leaf_hash(text) for text in texts}
