"""A small shop for tests: a journal with a key and two jobs written in turn, on a clock that the test moves."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from witnessmark.clock import ManualClock
from witnessmark.journal.checkpoint import PublicKey
from witnessmark.journal.entry import Draft
from witnessmark.journal.keys import SigningKey
from witnessmark.journal.store import Journal

ORIGIN = "bay1.depot.example"


def signing_key(number: int = 1, origin: str = ORIGIN) -> SigningKey:
    """Return the same key for the same number."""
    private = Ed25519PrivateKey.from_private_bytes(bytes([number]) * 32)
    return SigningKey(PublicKey(origin, private.public_key().public_bytes_raw()), private)


@dataclass
class Shop:
    """A journal open for writing, and the key that its `key` entry names."""

    journal: Journal
    clock: ManualClock
    key: SigningKey

    def work(self, count: int, jobs: tuple[str, ...] = ("J-1", "J-2")) -> None:
        """Append `count` notes to each of `jobs` in turn, a second apart."""
        for number in range(count):
            for job in jobs:
                self.clock.advance(1)
                self.journal.append(Draft("note", job, "person:p1", body={"n": number}))


def open_shop(folder: Path, name: str = "bay.journal", key: SigningKey | None = None, origin: str = ORIGIN) -> Shop:
    """Return a shop with a new journal in `folder`."""
    clock = ManualClock()
    journal = Journal.create(folder / name, origin, clock)
    key = key or signing_key(origin=origin)
    journal.append(Draft("key", None, "person:lead", body={"key": str(key.public), "passphrase": False}))
    return Shop(journal, clock, key)
