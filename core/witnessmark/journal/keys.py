"""The shop's key: made, kept beside the journal, and replaced.

A passphrase flows in, a key that signs flows out. Rules that hold here: the private key is written only encrypted with
a key that scrypt derives from the passphrase (an empty passphrase is allowed and said in the entry); the public key is
an entry of the journal, so a change of keys cannot be hidden; a new key is vouched for by the old one's signature;
only where the old one's file is gone does a new one stand for itself, and the journal shows that.

The key file is written beside the current one before the entry, and takes its name after it. Whichever of the two the
last `key` entry names is the key, so a crash between leaves one that works.
"""

from __future__ import annotations

import json
import os
import secrets
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from witnessmark.errors import InputError, JournalError
from witnessmark.journal import canonical, checkpoint
from witnessmark.journal.checkpoint import PublicKey, parse_key, sign
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.store import Journal

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

SCRYPT = {"n": 2**15, "r": 8, "p": 1}
"""About 0.1 s and 32 MiB a guess."""


@dataclass(frozen=True, slots=True)
class SigningKey:
    """A private key in memory, with its public half."""

    public: PublicKey
    _private: Ed25519PrivateKey

    def sign(self, data: bytes) -> bytes:
        """Return the Ed25519 signature of `data` (RFC 8032)."""
        return self._private.sign(data)


def path_of(journal: Path) -> Path:
    """Return where the key of `journal` lies."""
    return journal.with_name(journal.name + ".key")


def current(journal: Journal) -> PublicKey | None:
    """Return the public key that the journal's last `key` entry names, or None when it has none."""
    found = None
    for entry in journal.entries(kind="key"):
        found = _named_by(entry)
    return found


def create(journal: Journal, passphrase: str, by: str) -> Entry:
    """Make the journal's first key, or one that stands for itself after a lost one, and return the `key` entry.

    Raises JournalError when the journal has a key already and its file is there.
    """
    check_new(journal)
    return _introduce(journal, passphrase, by, None)


def lost(journal: Journal) -> bool:
    """Tell whether the journal names a key whose file is gone: nothing can be signed with it any more."""
    path = path_of(journal.path)
    return current(journal) is not None and not path.exists() and not _new(path).exists()


def check_new(journal: Journal) -> None:
    """Raise JournalError when the journal has a key already, unless its file is gone."""
    if current(journal) is not None and not lost(journal):
        raise JournalError("the journal has a key already", hint="use it, or replace it (`witnessmark key replace`)")


def replace(journal: Journal, old: SigningKey, passphrase: str, by: str) -> Entry:
    """Make a new key that `old` vouches for, and return the `key` entry. The old private key is then gone.

    Raises JournalError when `old` is not the journal's key.
    """
    if current(journal) != old.public:
        raise JournalError("that is not the journal's key", hint="give the key that the journal uses now")
    return _introduce(journal, passphrase, by, old)


def load(journal: Journal, passphrase: str) -> SigningKey:
    """Return the journal's key, ready to sign.

    Raises JournalError when there is none or its file is gone, InputError when the passphrase is wrong.
    """
    wanted = current(journal)
    if wanted is None:
        raise JournalError("the journal has no key", hint="make one with `witnessmark key new`")
    path = path_of(journal.path)
    for candidate in (path, _new(path)):
        if candidate.exists() and _public_in(candidate) == wanted:
            key = SigningKey(wanted, _unlock(candidate, passphrase))
            if candidate != path:
                os.replace(candidate, path)
            return key
    if lost(journal):
        way = "or make a new one that stands for itself (`witnessmark key new`)"
        raise JournalError(f"the key file {path} is gone", hint=f"put its copy back, {way}")
    way = "or move it away and make a new key that stands for itself (`witnessmark key new`)"
    raise JournalError(f"the key file {path} is another key's", hint=f"put this journal's back, {way}")


def _introduce(journal: Journal, passphrase: str, by: str, old: SigningKey | None) -> Entry:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    private = Ed25519PrivateKey.generate()
    public = PublicKey(journal.genesis().body["origin"], private.public_key().public_bytes_raw())
    body: dict[str, object] = {"key": str(public), "passphrase": bool(passphrase)}
    if old is not None:
        body["vouched"] = str(sign(checkpoint.vouching_text(public), old))
    path = path_of(journal.path)
    _write(_new(path), _lock(private, public, passphrase))
    entry = journal.append(Draft("key", None, by, body=body))
    os.replace(_new(path), path)
    return entry


def _lock(private: Ed25519PrivateKey, public: PublicKey, passphrase: str) -> bytes:
    from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305

    salt, nonce = secrets.token_bytes(16), secrets.token_bytes(12)
    sealed = ChaCha20Poly1305(_derive(passphrase, salt)).encrypt(
        nonce, private.private_bytes_raw(), str(public).encode()
    )
    return canonical.encode(
        {"cipher": "chacha20-poly1305", "format": 1, "key": str(public), "nonce": nonce, "salt": salt, "sealed": sealed}
        | {"scrypt": SCRYPT}
    )


def _unlock(path: Path, passphrase: str) -> Ed25519PrivateKey:
    from cryptography.exceptions import InvalidTag
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305

    said = _said_in(path)
    try:
        cipher = ChaCha20Poly1305(_derive(passphrase, bytes.fromhex(said["salt"]), said["scrypt"]))
        sealed, nonce = bytes.fromhex(said["sealed"]), bytes.fromhex(said["nonce"])
        return Ed25519PrivateKey.from_private_bytes(cipher.decrypt(nonce, sealed, said["key"].encode()))
    except InvalidTag as error:
        raise InputError("the passphrase is wrong", place=str(path), hint="type it again") from error
    except (KeyError, TypeError, ValueError) as error:
        raise JournalError(f"the key file {path} is damaged: {error}", hint="put its copy back") from error


def _derive(passphrase: str, salt: bytes, cost: dict[str, int] = SCRYPT) -> bytes:
    from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

    return Scrypt(salt=salt, length=32, n=cost["n"], r=cost["r"], p=cost["p"]).derive(passphrase.encode())


def _public_in(path: Path) -> PublicKey:
    return parse_key(str(_said_in(path).get("key", "")), place=str(path))


def _named_by(entry: Entry) -> PublicKey:
    return parse_key(str(entry.body.get("key", "")), place=f"entry {entry.seq}")


def _said_in(path: Path) -> dict[str, Any]:
    try:
        said = json.loads(path.read_bytes())
    except (OSError, ValueError) as error:
        raise JournalError(f"the key file {path} cannot be read: {error}", hint="put its copy back") from error
    if not isinstance(said, dict) or said.get("format") != 1:
        raise JournalError(f"the key file {path} is damaged or of a later version", hint="put its copy back")
    return said


def _write(path: Path, text: bytes) -> None:
    try:
        path.unlink(missing_ok=True)
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise JournalError(f"the key file {path} cannot be written: {error.strerror}", hint="check the disk") from error


def _new(path: Path) -> Path:
    return path.with_name(path.name + ".new")
