"""A signed checkpoint: how large the tree is and what its root is, said by the shop's key.

The text is a C2SP tlog-checkpoint (origin, size, root; then extension lines), carried by a C2SP signed note with
Ed25519 signatures. A checkpoint made for one job has one extension line, `job <id> <count> <head>`, so that a sheet's
signature covers the job's count and head too. Signature lines of keys that nobody here knows (cosignatures) are kept
and left alone.
Nothing here reads a journal.
"""

from __future__ import annotations

import base64
import binascii
import re
from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Protocol

from witnessmark.errors import InputError

ED25519 = b"\x01"
"""The signature type of a plain Ed25519 key (C2SP signed-note)."""

_DASH = "\u2014"
_JOB = re.compile(r"job ([A-Za-z0-9][A-Za-z0-9._-]{0,63}) ([1-9][0-9]{0,14}) (\S+)")
_SIZE = re.compile("0|[1-9][0-9]{0,14}")
_TYPED = re.compile(r"\s*([1-9][0-9]{0,14})\s*[ ,:/-]\s*((?:[0-9a-fA-F]\s*){16,64})")
_MEANT = re.compile(r"([0-9]+)(?:\s*[ ,:/-]\s*([0-9a-zA-Z\s]*))?")
_HINT = "use the text as it was printed, to the letter"


@dataclass(frozen=True, slots=True)
class JobPin:
    """What a sheet says of its job: how many entries, and the last one's leaf hash in hex (typed: part of it)."""

    count: int
    head: str
    job: str | None = None


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """Origin, size and root of a journal, and the count and head of one job where it was made for one."""

    origin: str
    size: int
    root: bytes
    job: JobPin | None = None


@dataclass(frozen=True, slots=True)
class PublicKey:
    """A shop's public key under its name, which is the origin of its journal."""

    name: str
    raw: bytes

    @property
    def id(self) -> bytes:
        """Return the four bytes that a signature line begins with (C2SP signed-note, key ID)."""
        return sha256(self.name.encode() + b"\n" + ED25519 + self.raw).digest()[:4]

    def __str__(self) -> str:
        """Return the text to post and to print (the vkey of C2SP signed-note)."""
        return f"{self.name}+{self.id.hex()}+{_base64(ED25519 + self.raw)}"


@dataclass(frozen=True, slots=True)
class Signature:
    """One signature line: whose, the key id, and the signature."""

    name: str
    key_id: bytes
    value: bytes


@dataclass(frozen=True, slots=True)
class Note:
    """A signed note: `text` as it was signed, with its last line end, and the signatures under it."""

    text: str
    signatures: tuple[Signature, ...]

    def __str__(self) -> str:
        lines = [f"{_DASH} {one.name} {_base64(one.key_id + one.value)}\n" for one in self.signatures]
        return f"{self.text}\n{''.join(lines)}"


class Signer(Protocol):
    """A key that can sign: see `keys.SigningKey`."""

    @property
    def public(self) -> PublicKey: ...

    def sign(self, data: bytes) -> bytes: ...


def checkpoint_text(checkpoint: Checkpoint) -> str:
    """Return the text that is signed."""
    text = f"{checkpoint.origin}\n{checkpoint.size}\n{_base64(checkpoint.root)}\n"
    pin = checkpoint.job
    return text if pin is None else f"{text}job {pin.job} {pin.count} {_base64(bytes.fromhex(pin.head))}\n"


def parse_checkpoint(text: str, *, place: str = "checkpoint") -> Checkpoint:
    """Return the checkpoint that `text` says; unknown extension lines are skipped. Raises InputError naming `place`."""
    lines = text.split("\n")
    if len(lines) < 4 or lines[-1] or "" in lines[:-1] or not _SIZE.fullmatch(lines[1]):
        raise InputError("it is not a checkpoint: origin, size and root, a line each", place=place, hint=_HINT)
    root = _bytes(lines[2], place)
    if len(root) != 32:
        raise InputError("its root is not 32 bytes", place=place, hint=_HINT)
    pins = []
    for line in lines[3:-1]:
        if match := _JOB.fullmatch(line):
            head = _bytes(match[3], place)
            if len(head) != 32:
                raise InputError("the job's head is not 32 bytes", place=place, hint=_HINT)
            pins.append(JobPin(int(match[2]), head.hex(), match[1]))
    if len(pins) > 1:
        raise InputError("it pins more than one job", place=place, hint=_HINT)
    return Checkpoint(lines[0], int(lines[1]), root, pins[0] if pins else None)


def parse_note(text: str, *, place: str = "note") -> Note:
    """Return the note and its signature lines. Raises InputError naming `place` when it breaks C2SP signed-note."""
    body, blank, below = text.rpartition("\n\n")
    if not blank or not below.endswith("\n") or any(ord(sign) < 32 and sign != "\n" for sign in text):
        raise InputError("it is not a signed note", place=place, hint=_HINT)
    signatures = []
    for line in below[:-1].split("\n"):
        dash, _, rest = line.partition(" ")
        name, _, code = rest.partition(" ")
        data = _bytes(code, place)
        if dash != _DASH or not name or len(data) < 5:
            raise InputError("a signature line does not have its form", place=place, hint=_HINT)
        signatures.append(Signature(name, data[:4], data[4:]))
    return Note(body + "\n", tuple(signatures))


def parse_key(text: str, *, place: str = "key") -> PublicKey:
    """Return the public key that `text` (name+id+key) says. Raises InputError naming `place`."""
    name, _, rest = text.strip().partition("+")
    key_id, _, code = rest.partition("+")
    data = _bytes(code, place)
    key = PublicKey(name, data[1:])
    if not name or data[:1] != ED25519 or len(data) != 33:
        raise InputError("it is not an Ed25519 public key with its name and id", place=place, hint=_HINT)
    if key.id.hex() != key_id:
        raise InputError("its id is not that of this name and key: a letter may be wrong", place=place, hint=_HINT)
    return key


def sign(text: str, signer: Signer) -> Note:
    """Return `text`, which ends with a line end, as a note signed by `signer`."""
    public = signer.public
    return Note(text, (Signature(public.name, public.id, signer.sign(text.encode())),))


def vouching_text(key: PublicKey) -> str:
    """Return the text that the key before signs to vouch for `key`."""
    return f"witnessmark key\n{key}\n"


def signed_by(note: Note, key: PublicKey) -> bool | None:
    """Tell whether `key` signed `note`; None when the note has no line of that key."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    lines = [one for one in note.signatures if (one.name, one.key_id) == (key.name, key.id)]
    for line in lines:
        try:
            Ed25519PublicKey.from_public_bytes(key.raw).verify(line.value, note.text.encode())
        except (InvalidSignature, ValueError):
            return False
    return True if lines else None


def signer_of(note: Note, keys: Sequence[PublicKey]) -> tuple[PublicKey | None, bool]:
    """Return the key among `keys` that `note` names, and whether its signature holds; (None, False) for none."""
    for key in keys:
        holds = signed_by(note, key)
        if holds is not None:
            return key, holds
    return None, False


@dataclass(frozen=True, slots=True)
class Anchor:
    """What somebody outside the shop holds: a signed checkpoint (also as a sheet's QR text), or a count and head typed.

    Exactly one of `note` and `pin` is given.
    """

    note: Note | None = None
    pin: JobPin | None = None


def parse_anchor(text: str) -> Anchor:
    """Return the anchor in `text`: a signed checkpoint, or a job's count and at least 16 hex digits of its head.

    Raises InputError when it is neither.
    """
    if match := _TYPED.fullmatch(text.strip()):
        return Anchor(pin=JobPin(int(match[1]), "".join(match[2].split()).lower()))
    if fault := _mistyped(text):
        raise InputError(fault, place="anchor", hint=_HINT)
    note = parse_note(text.replace("\r\n", "\n").strip("\n") + "\n", place="anchor")
    parse_checkpoint(note.text, place="anchor")
    return Anchor(note=note)


def _mistyped(text: str) -> str:
    """Say what is wrong with a count and head as they were typed; empty where it is not meant to be them."""
    match = _MEANT.fullmatch(text.strip())
    if match is None:
        return ""
    head = "".join((match[2] or "").split())
    odd = next((sign for sign in head if sign not in "0123456789abcdefABCDEF"), "")
    if not head:
        alone = len(match[1]) >= 16
        return "a head without the count before it" if alone else f"the count {match[1]} without a head pins nothing"
    if odd:
        return f"{odd!r} in the head is not one of its digits, 0 to 9 and a to f"
    if not 16 <= len(head) <= 64:
        return f"{len(head)} digits of the head are given: it has 64, of which at least 16 are needed"
    return f"{match[1]} is no count of entries"


def _base64(data: bytes) -> str:
    return base64.b64encode(data).decode()


def _bytes(code: str, place: str) -> bytes:
    try:
        data = base64.b64decode(code, validate=True)
    except (binascii.Error, ValueError) as error:
        raise InputError(f"{code!r} is not base64", place=place, hint=_HINT) from error
    if _base64(data) != code:
        raise InputError(f"{code!r} is not the one spelling of that base64", place=place, hint=_HINT)
    return data
