"""What a journal may know of the people file: each id with its role and a digest of what is kept of the PIN.

A register flows in, lines flow out; two sets of lines flow in, what differs flows out in words. Rule that holds here:
a digest covers the 16 random bytes of the PIN's salt, which stand in the people file alone, so that nobody who has the
journal without that file can try PINs against it.
"""

from __future__ import annotations

from collections.abc import Mapping
from hashlib import sha256
from typing import NamedTuple

import msgspec

from witnessmark.people.pin import KeptPin
from witnessmark.people.register import Register

DOMAIN = b"witnessmark pin 1\x00"
"""What every digest begins with, so that it cannot be taken for another hash."""


class Known(NamedTuple):
    """One person: the role, and the digest of the PIN's salt, digest and costs, in hex."""

    role: str
    pin: str


def lines(people: Register) -> dict[str, Known]:
    """Return what may be known of each person."""
    return {id_: Known(one.role, _digest(one.pin)) for id_, one in people.people.items()}


def differences(before: Mapping[str, Known], now: Mapping[str, Known]) -> tuple[str, ...]:
    """Say in words how `now` differs from `before`, a text for each person; nothing when it does not."""
    found = []
    for id_ in sorted({*before, *now}):
        old, new = before.get(id_), now.get(id_)
        if old is None and new is not None:
            found.append(f"{id_} is there, a {new.role}")
        elif new is None and old is not None:
            found.append(f"{id_}, a {old.role}, is not there")
        elif old is not None and new is not None:
            if old.role != new.role:
                found.append(f"{id_} is a {new.role}, not a {old.role}")
            if old.pin != new.pin:
                found.append(f"{id_} has another PIN")
    return tuple(found)


def _digest(pin: KeptPin) -> str:
    return sha256(DOMAIN + msgspec.json.encode(pin)).hexdigest()
