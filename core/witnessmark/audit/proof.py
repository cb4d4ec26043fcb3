"""The proof of an evidence file, and the anchor held against it.

A `Chain` and a `Proof` flow in, the first `Fault` flows out. Rules that hold here: the file's own key only shows that
the file agrees with itself; a key counts as the shop's when somebody else holds it (or an anchor that it signed), or
when such a key vouches for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import NoReturn

from witnessmark.audit.chain import Chain, Fault, check_pin
from witnessmark.errors import InputError
from witnessmark.journal import checkpoint as checkpoints
from witnessmark.journal import entry as entries
from witnessmark.journal import merkle
from witnessmark.journal.checkpoint import Anchor, Checkpoint, Note, PublicKey
from witnessmark.journal.entry import LaterFormat
from witnessmark.journal.evidence import Ground, Proof

KEY_PLACE = "proof.journal"
UNCOUNTED = "the {} does not count this job's entries: that its last ones were left out would not show"
ELSEWHERE = "it belongs to another file, or this file was not made where it says"
UNSIGNED = "nobody checked the anchor's signature (no key is in the file and none was given): it is worth its paper"


@dataclass(frozen=True, slots=True)
class Proven:
    """What a proof says once it is read: its checkpoint, the keys that lead to its signature, earlier checkpoints."""

    checkpoint: Checkpoint
    keys: tuple[PublicKey, ...]
    earlier: tuple[tuple[Checkpoint, tuple[bytes, ...]], ...]


class _Stop(Exception):
    """Carries a fault out of a step. Never leaves this module."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(fault.text)
        self.fault = fault


def check_proof(chain: Chain, proof: Proof, key: PublicKey | None) -> tuple[Proven | None, Fault | None]:
    """Return what the proof says, or the first thing wrong with it. `key` is the shop's, as somebody else holds it."""
    try:
        note, checkpoint = _note(proof.checkpoint, "proof.checkpoint")
        keys = _keys(proof, checkpoint)
        _check_signature(note, keys, "proof.checkpoint")
        if key is not None and key not in keys:
            _stop(
                "wrong key", "no key that signed here is, or is vouched for by, the one held elsewhere", KEY_PLACE, True
            )
        _check_inclusion(chain, proof, checkpoint)
        _check_pin(chain, checkpoint, "the file's checkpoint", "proof.checkpoint")
        earlier = tuple(_earlier(chain, proof, checkpoint, keys))
        _check_complete(chain, proof)
    except _Stop as stop:
        return None, stop.fault
    return Proven(checkpoint, keys, earlier), None


def check_notes(chain: Chain) -> tuple[tuple[int, ...], Fault | None]:
    """Return which entries hold a checkpoint that was signed for this job, and the first that counts other entries.

    For a file without proof: the signatures stay unchecked, what the checkpoints say of the job does not.
    """
    signed = []
    try:
        for number, entry in enumerate(chain.entries):
            if entry.kind in ("checkpoint", "sheet"):
                place = f"entries[{number}].body.note"
                _, checkpoint = _note(str(entry.body.get("note")), place)
                _check_pin(chain, checkpoint, f"the checkpoint in entry {entry.seq}", place)
                signed.append(entry.seq)
    except _Stop as stop:
        return tuple(signed), stop.fault
    return tuple(signed), None


def check_anchor(
    chain: Chain, proven: Proven | None, anchor: Anchor, key: PublicKey | None = None
) -> tuple[Fault | None, int, list[str]]:
    """Return what the anchor shows to be wrong, the size it stands for, and what it leaves open.

    The size is the journal's for a checkpoint and the job's count for one typed in. `key` is the shop's, as somebody
    else holds it: where the file has no proof, only with it can the anchor's signature be checked. Raises InputError
    when the anchor's own signature does not hold.
    """
    if anchor.note is None:
        assert anchor.pin is not None
        fault = check_pin(chain, anchor.pin, "the sheet", "anchor", anchor_only=True)
        if fault is not None and fault.verdict == "altered":
            here = chain.leaves[anchor.pin.count - 1].hex()
            text = f"{fault.text}; here the head at {anchor.pin.count} is {here}: hold it against the paper first"
            fault = replace(fault, text=text)
        return fault, anchor.pin.count, _after(len(chain.entries) - anchor.pin.count)
    held = checkpoints.parse_checkpoint(anchor.note.text, place="anchor")
    pinned = held.job is not None and held.job.job == chain.job
    remarks = []
    try:
        if proven is not None:
            _check_held(anchor.note, held, proven, pinned)
        elif pinned and key is not None:
            _check_signer(anchor.note, (key,), "the anchor was signed by another key than the one held elsewhere")
        elif pinned:
            remarks.append(UNSIGNED)
        else:
            _stop("incomplete", "the file has no proof that leads from this anchor to its entries", "proof", True)
    except _Stop as stop:
        return stop.fault, held.size, remarks
    if pinned and held.job is not None:
        fault = check_pin(chain, held.job, "the anchor", "anchor", anchor_only=True)
        return fault, held.size, remarks + _after(len(chain.entries) - held.job.count)
    if not any(entry.seq < held.size for entry in chain.entries):
        text = f"the anchor is of size {held.size}, from before this job began: it covers none of its entries"
        return Fault("incomplete", text, place="anchor", anchor_only=True), held.size, remarks
    remarks.append(UNCOUNTED.format("anchor" if held.job is None else f"anchor is of job {held.job.job} and"))
    return None, held.size, remarks + _after(sum(entry.seq >= held.size for entry in chain.entries))


def _check_held(note: Note, held: Checkpoint, proven: Proven, pinned: bool) -> None:
    """Hold an anchor against the file's proof: its key, its journal, and its tree."""
    if held.origin != proven.checkpoint.origin:
        text = f"the anchor is of journal {held.origin}, the file of {proven.checkpoint.origin}: {ELSEWHERE}"
        _stop("wrong key", text, "anchor", True)
    _check_signer(note, proven.keys, "the anchor was signed by a key that does not lead to the file's")
    known = [(proven.checkpoint.size, proven.checkpoint.root)] + [(one.size, one.root) for one, _ in proven.earlier]
    roots = {root for size, root in known if size == held.size}
    if roots and held.root not in roots:
        text = f"the journal that this file comes from had other entries when it was {held.size} long"
        _stop("altered", text, "proof.consistency", True)
    if not roots and not pinned:
        text = f"the file has no proof that leads from size {held.size} to its own; export it for this anchor"
        _stop("incomplete", text, "proof.consistency", True)


def _check_signer(note: Note, keys: tuple[PublicKey, ...], else_said: str) -> None:
    signer, holds = checkpoints.signer_of(note, keys)
    if signer is None:
        _stop("wrong key", else_said, KEY_PLACE, True)
    if not holds:
        raise InputError("its signature does not hold", place="anchor", hint="read it in again; a letter may be wrong")


def _keys(proof: Proof, checkpoint: Checkpoint) -> tuple[PublicKey, ...]:
    """Return the keys that lead to the last one, each vouched for by the one before, the last one last."""
    keys: tuple[PublicKey, ...] = ()
    origin, last = None, -1
    for number, ground in enumerate(proof.journal):
        place = f"{KEY_PLACE}[{number}]"
        entry = _ground(ground, checkpoint, place)
        wanted = "genesis" if entry.seq == 0 else "key"
        if entry.kind != wanted or entry.job is not None or entry.seq <= last:
            text = f"entry {entry.seq} does not belong there: genesis and keys, in their order"
            _stop("altered", text, place, seq=entry.seq)
        last = entry.seq
        if entry.kind == "genesis":
            origin = entry.body.get("origin")
        else:
            key, vouched = _introduced(entry, keys, place)
            keys = (*keys, key) if vouched else (key,)
    if origin is None or not keys:
        _stop("incomplete", "the proof lacks the journal's first entry or its key", KEY_PLACE)
    if origin != checkpoint.origin:
        _stop("altered", f"the checkpoint is of journal {checkpoint.origin}, the file of {origin}", "proof.checkpoint")
    return keys


def _introduced(entry: entries.Entry, before: tuple[PublicKey, ...], place: str) -> tuple[PublicKey, bool]:
    """Return the key that a `key` entry brings in, and whether the last of those before vouches for it."""
    try:
        key = checkpoints.parse_key(str(entry.body.get("key")), place=place)
        vouched = entry.body.get("vouched")
        if vouched is None or not before:
            return key, False
        note = checkpoints.parse_note(str(vouched), place=place)
    except InputError as error:
        _stop("altered", f"key entry {entry.seq}: {error.what}", error.place, seq=entry.seq)
    if note.text != checkpoints.vouching_text(key) or not checkpoints.signed_by(note, before[-1]):
        _stop("altered", f"key entry {entry.seq} is not vouched for by the key before it", place, seq=entry.seq)
    return key, True


def _ground(ground: Ground, checkpoint: Checkpoint, place: str) -> entries.Entry:
    text = bytes(ground.entry)
    try:
        entry = entries.parse(text, place=place)
    except LaterFormat:
        raise
    except InputError as error:
        _stop("altered", f"an entry is not as a journal writes it: {error.what}", error.place)
    path = _hashes(ground.path, place)
    if not merkle.verify_inclusion(merkle.leaf_hash(text), entry.seq, checkpoint.size, path, checkpoint.root):
        _stop("altered", f"entry {entry.seq} is not in the tree of the checkpoint", place, seq=entry.seq)
    return entry


def _check_signature(note: Note, keys: tuple[PublicKey, ...], place: str) -> None:
    signer, holds = checkpoints.signer_of(note, keys)
    if signer is None:
        _stop("wrong key", "the checkpoint is not signed by the journal's key", place)
    if not holds:
        _stop("altered", "the checkpoint is not the one that was signed", place)


def _check_inclusion(chain: Chain, proof: Proof, checkpoint: Checkpoint) -> None:
    if len(proof.inclusion) != len(chain.entries):
        text = f"there are {len(chain.entries)} entries and proofs for {len(proof.inclusion)}"
        _stop("incomplete", text, "proof.inclusion")
    for number, (entry, leaf) in enumerate(zip(chain.entries, chain.leaves, strict=True)):
        place = f"proof.inclusion[{number}]"
        if entry.seq >= checkpoint.size:
            text = f"entry {entry.seq} came after the checkpoint of size {checkpoint.size}"
            _stop("incomplete", text, place, seq=entry.seq)
        path = _hashes(proof.inclusion[number], place)
        if not merkle.verify_inclusion(leaf, entry.seq, checkpoint.size, path, checkpoint.root):
            _stop("altered", f"entry {entry.seq} is not in the tree of the checkpoint", place, seq=entry.seq)


def _earlier(
    chain: Chain, proof: Proof, checkpoint: Checkpoint, keys: tuple[PublicKey, ...]
) -> Iterator[tuple[Checkpoint, tuple[bytes, ...]]]:
    for number, one in enumerate(proof.consistency):
        place = f"proof.consistency[{number}]"
        note, earlier = _note(one.checkpoint, place)
        if earlier.origin != checkpoint.origin:
            _stop("altered", f"a printed checkpoint is of another journal, {earlier.origin}", place)
        if checkpoints.signer_of(note, keys) != (None, False):
            _check_signature(note, keys, place)
        path = _hashes(one.path, place)
        if not merkle.verify_consistency(earlier.size, earlier.root, checkpoint.size, checkpoint.root, path):
            _stop("altered", f"the journal does not go on from its checkpoint of size {earlier.size}", place)
        _check_pin(chain, earlier, f"the checkpoint of size {earlier.size}", place)
        yield earlier, path


def _check_complete(chain: Chain, proof: Proof) -> None:
    """Stop unless each checkpoint recorded for the job leads to the file's own."""
    there = {proof.checkpoint, *(one.checkpoint for one in proof.consistency)}
    for entry in chain.entries:
        if entry.kind in ("checkpoint", "sheet") and entry.body.get("note") not in there:
            text = f"the proof does not lead from the checkpoint of entry {entry.seq} to the file's own"
            _stop("incomplete", text, "proof.consistency", seq=entry.seq)


def _check_pin(chain: Chain, checkpoint: Checkpoint, what: str, place: str) -> None:
    fault = None if checkpoint.job is None else check_pin(chain, checkpoint.job, what, place)
    if fault is not None:
        raise _Stop(fault)


def _note(text: str, place: str) -> tuple[Note, Checkpoint]:
    try:
        note = checkpoints.parse_note(text, place=place)
        return note, checkpoints.parse_checkpoint(note.text, place=place)
    except InputError as error:
        _stop("altered", f"the checkpoint is not as it was signed: {error.what}", place)


def _hashes(path: tuple[str, ...], place: str) -> tuple[bytes, ...]:
    try:
        hashes = tuple(map(bytes.fromhex, path))
    except ValueError:
        hashes = ()
    if tuple(one.hex() for one in hashes) != path:
        _stop("altered", "a hash is not in lower-case hex", place)
    return hashes


def _after(count: int) -> list[str]:
    if count <= 0:
        return []
    said = "one entry came" if count == 1 else f"{count} entries came"
    return [f"{said} after the anchor, and no anchor covers that"]


def _stop(verdict: str, text: str, place: str, anchor_only: bool = False, seq: int | None = None) -> NoReturn:
    raise _Stop(Fault(verdict, text, seq, place, anchor_only))
