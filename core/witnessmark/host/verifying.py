"""The evidence files of a job that went from bay to bay, verified together, and what an anchor pins of each.

Files flow in, the first bay's first; a verification of each and of the whole flow out. Rules that hold here: each goes
on from exactly the one before, by its hash, its count and its head; the anchor is held against the bay that made it; an
anchor of a later bay pins the bays before it whole, for the hash of their file stands in an entry that it covers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from witnessmark.audit.verify import Verification, verify
from witnessmark.errors import InputError
from witnessmark.host.auditing import ORDER, cited
from witnessmark.journal import checkpoint as checkpoints
from witnessmark.journal import evidence, moving
from witnessmark.journal.checkpoint import Anchor, PublicKey

PINNED = "all of it is pinned through the next bay, whose first entry holds the hash of this file"
EACH = "each file agrees with itself and cites the one before it; what is signed of each stands beside its bay"


@dataclass(frozen=True, slots=True)
class Part:
    """One bay's file: its name, what that bay's journal is called (empty: nothing says), and how it was found."""

    name: str
    origin: str
    found: Verification


@dataclass(frozen=True, slots=True)
class Whole:
    """How all of it was found, and each part."""

    found: Verification
    parts: tuple[Part, ...]


def verify_parts(files: Sequence[tuple[str, bytes]], anchor: Anchor | None, key: PublicKey | None) -> Whole:
    """Verify `files` (name, bytes) together. Raises InputError as `verify`, or when one does not go on from another."""
    alone = [verify(data, name=name) for name, data in files]
    moving.check_goes_on([file for file, found in zip(files, alone, strict=True) if found.entries])
    origins = [_origin(data, name) for name, data in files]
    at = len(files) - 1 if anchor is None else _held_by(files, origins, anchor)
    keyed = origins.index(key.name) if key is not None and key.name in origins else len(files) - 1
    parts = []
    for number, (name, data) in enumerate(files):
        held, posted = anchor if number == at else None, key if number == keyed else None
        found = verify(data, held, posted, name=name, with_before=True)
        parts.append(Part(name, origins[number], found))
    sound = anchor is not None and parts[at].found.verdict == "intact"
    for number, part in enumerate(parts[: at if sound else 0]):
        if part.found.verdict == "consistent, unanchored":
            size = len(part.found.entries)
            intact = replace(part.found, verdict="intact", text=PINNED, anchor_size=size, remarks=())
            parts[number] = replace(part, found=intact)
    return Whole(_whole(parts), tuple(parts))


def _whole(parts: Sequence[Part]) -> Verification:
    """Return what is worst among the parts and what each cites of the one before.

    Its entries and head are the last part's: those are what the papers of the job carry.
    """
    broken = [cited(before.found, one.found) for before, one in pairwise(parts)]
    found = [*filter(None, broken), *(one.found for one in parts)]
    last = parts[-1].found
    worst = replace(max(found, key=lambda one: ORDER.index(one.verdict)), entries=last.entries, head=last.head)
    differ = len({one.text for one in found if one.verdict == worst.verdict}) > 1
    return replace(worst, text=EACH) if worst.verdict == "consistent, unanchored" and differ else worst


def _origin(data: bytes, name: str) -> str:
    """Return what the journal behind a file calls itself, empty where nothing in it is signed or it cannot be read."""
    try:
        proof = evidence.read(data, name=name).proof
        if proof is None:
            return ""
        return checkpoints.parse_checkpoint(checkpoints.parse_note(proof.checkpoint).text).origin
    except InputError:
        return ""


def _held_by(files: Sequence[tuple[str, bytes]], origins: Sequence[str], anchor: Anchor) -> int:
    """Return the number of the part that an anchor is of: by its journal's name, or by which it fits; else the last."""
    if anchor.note is not None:
        origin = checkpoints.parse_checkpoint(anchor.note.text, place="anchor").origin
        named = [number for number, one in enumerate(origins) if one == origin]
        if len(named) == 1:
            return named[0]
    for number in reversed(range(len(files))):
        name, data = files[number]
        if verify(data, anchor, name=name, with_before=True).verdict == "intact":
            return number
    return len(files) - 1
