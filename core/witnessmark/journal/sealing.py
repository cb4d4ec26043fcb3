"""Making checkpoints of a journal, and the evidence file of a job.

A journal and a key flow in; signed notes, their entries and evidence bytes flow out. Rules that hold here: every note
that is made is also an entry; nothing is signed unless all of the journal was checked first, in the same snapshot, so
that a history somebody altered gets no new signature; an evidence file holds what its checkpoint covers and nothing
after it; it leads there from every checkpoint that was printed for the job.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from witnessmark.errors import InputError, JournalError
from witnessmark.journal import checkpoint as checkpoints
from witnessmark.journal import entry as entries
from witnessmark.journal import evidence, merkle
from witnessmark.journal.check import check_open
from witnessmark.journal.checkpoint import Checkpoint, JobPin, Note, Signer
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.no_job import no_job
from witnessmark.journal.store import Journal


@dataclass(frozen=True, slots=True)
class Seal:
    """A signed note and the entry that records it."""

    note: Note
    entry: Entry


def seal(journal: Journal, signer: Signer, by: str, why: str) -> Seal:
    """Sign the whole journal as it stands and record that as a `checkpoint`: at shop close, or on demand.

    `by` is the actor of the entry, `why` one of `shop close`, `on demand` or the like. Raises JournalError when the
    journal is not sound: nothing is signed then.
    """
    with journal.snapshot():
        check_sound(journal)
        text = checkpoints.checkpoint_text(_checkpoint(journal, None))
    note = checkpoints.sign(text, signer)
    return Seal(note, journal.append(Draft("checkpoint", None, by, body={"note": str(note), "why": why})))


def seal_job(journal: Journal, signer: Signer, job: str, by: str, *, sheet: bool, why: str) -> Seal:
    """Sign the journal with the count and head of `job`: for each `sheet`, and when the job is closed.

    The note's text is what the sheet prints and its QR says. Raises InputError when there is no such job, JournalError
    as `seal`.
    """
    with journal.snapshot():
        check_sound(journal)
        text = checkpoints.checkpoint_text(_checkpoint(journal, job))
    note = checkpoints.sign(text, signer)
    kind = "sheet" if sheet else "checkpoint"
    return Seal(note, journal.append(Draft(kind, job, by, body={"note": str(note), "why": why})))


def check_sound(journal: Journal) -> None:
    """Raise JournalError, naming the first damage, unless the whole journal is sound: entries, tree, head, signatures.

    Every entry is read, about ten seconds for a million of them.
    """
    damage = check_open(journal, database=False).damage
    if damage:
        hint = "nothing was signed: run `witnessmark check`; --unsealed writes what is there, and its verdict"
        raise JournalError(f"the journal is not sound: {damage[0].text}", hint=hint)


def unsealed_evidence(journal: Journal, job: str) -> bytes:
    """Return the evidence file of `job` without a proof: for a journal without a key."""
    return evidence.write(journal.job_texts(job), None)


def evidence_of(journal: Journal, job: str, note: Note, also: Iterable[Note] = ()) -> bytes:
    """Return the evidence file of `job` up to the size that `note` signed.

    It proves that tree to go on from each checkpoint recorded for the job, and from those in `also` (anchors that
    somebody holds). Raises InputError when there is no such job before that size, or an anchor is not of this journal.
    """
    with journal.snapshot():
        size = checkpoints.parse_checkpoint(note.text).size
        if size > journal.size:
            raise InputError(
                "the checkpoint is larger than the journal", place="checkpoint", hint="use one of this journal"
            )
        rows = [(seq, text) for seq, text in journal.texts(job) if seq < size]
        if not rows:
            raise InputError(
                f"there is no job {job!r} before entry {size}", place="job", hint="see `witnessmark job list`"
            )
        earlier = [*_recorded(rows), *(_of_this_journal(journal, one) for one in also)]
        grounds = [row for kind in ("genesis", "key") for row in journal.texts(kind=kind) if row[0] < size]
        proof = evidence.Proof(
            str(note),
            tuple(_consistency(journal, one, size) for one in _without_repeats(earlier) if str(one) != str(note)),
            tuple(_path(journal, seq, size) for seq, _ in rows),
            tuple(evidence.ground(text, _path(journal, seq, size)) for seq, text in grounds),
        )
        return evidence.write([text for _, text in rows], proof)


def _checkpoint(journal: Journal, job: str | None) -> Checkpoint:
    head = journal.head()
    pin = None
    if job is not None:
        last = journal.job_head(job)
        if not last.count:
            raise no_job(job)
        pin = JobPin(last.count, last.head.hex(), job)
    return Checkpoint(journal.genesis().body["origin"], head.size, head.root, pin)


def _recorded(rows: Sequence[tuple[int, bytes]]) -> list[Note]:
    found = []
    for seq, text in rows:
        entry = entries.parse(text, place=f"entry {seq}")
        if entry.kind in ("checkpoint", "sheet"):
            found.append(checkpoints.parse_note(entry.body["note"], place=f"entry {seq}"))
    return found


def _of_this_journal(journal: Journal, note: Note) -> Note:
    """Return `note`. Raises InputError unless its root is the one this journal had at its size."""
    said = checkpoints.parse_checkpoint(note.text, place="anchor")
    if not 0 < said.size <= journal.size or journal.tree.edge(said.size).root() != said.root:
        hint = "ask whose it is; a file made for it would verify as altered"
        raise InputError("the anchor is not of this journal", place="anchor", hint=hint)
    return note


def _without_repeats(notes: list[Note]) -> list[Note]:
    return list({str(note): note for note in notes}.values())


def _consistency(journal: Journal, note: Note, size: int) -> evidence.Earlier:
    first = checkpoints.parse_checkpoint(note.text).size
    if not 0 < first <= size:
        raise InputError(
            f"the checkpoint of size {first} is not below size {size}", place="checkpoint", hint="make a new checkpoint"
        )
    path = merkle.consistency_path(first, size, journal.tree.node)
    return evidence.Earlier(str(note), tuple(one.hex() for one in path))


def _path(journal: Journal, seq: int, size: int) -> tuple[str, ...]:
    return tuple(one.hex() for one in merkle.inclusion_path(seq, size, journal.tree.node))
