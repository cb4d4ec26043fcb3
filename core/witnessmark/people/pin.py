"""A PIN and what is kept of it: a salt and an scrypt digest (RFC 7914), never the PIN.

Rule that holds here: a PIN is short, so whoever holds the file and has time can find it; it keeps apart who did what
in a bay, and is no seal. The seal is the shop's key.
"""

from __future__ import annotations

import re
import secrets

import msgspec

from witnessmark.errors import InputError

_PIN = re.compile(r"[0-9]{4,12}")
COST = 2**15
"""scrypt's n, with r 8 and p 1: 32 MiB and some tens of milliseconds a try. Common practice, no source."""


class KeptPin(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Salt and digest in hex, and the costs they were made with."""

    salt: str
    digest: str
    n: int = COST
    r: int = 8
    p: int = 1


def keep(pin: str, n: int = COST) -> KeptPin:
    """Return what is kept of `pin`. Raises InputError unless it is 4 to 12 digits."""
    if not _PIN.fullmatch(pin):
        raise InputError("a PIN is 4 to 12 digits", place="PIN", hint="choose digits only, at least four")
    salt = secrets.token_bytes(16)
    return KeptPin(salt.hex(), _scrypt(salt, n, 8, 1).derive(pin.encode("ascii")).hex(), n)


def fits(pin: str, kept: KeptPin) -> bool:
    """Say whether `pin` is the one that was kept, in a time that tells nothing about how close it is."""
    from cryptography.exceptions import InvalidKey

    try:
        _scrypt(bytes.fromhex(kept.salt), kept.n, kept.r, kept.p).verify(pin.encode(), bytes.fromhex(kept.digest))
    except InvalidKey:
        return False
    return True


def _scrypt(salt: bytes, n: int, r: int, p: int):  # type: ignore[no-untyped-def]
    from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

    return Scrypt(salt=salt, length=32, n=n, r=r, p=p)
