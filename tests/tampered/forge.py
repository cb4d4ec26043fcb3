"""The honest journals that the tampered files are made from. Everything random is fixed, so each run makes the same."""

from __future__ import annotations

import json
import random
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest import mock

from tests.journal.shop import Shop, open_shop, signing_key
from witnessmark.journal import amendment, entry, sealing
from witnessmark.journal.checkpoint import Note
from witnessmark.journal.entry import Draft
from witnessmark.journal.keys import SigningKey

Document = dict[str, Any]


@dataclass(frozen=True)
class Honest:
    """An evidence file of job J-1 as it was written, and the sheets that the customer holds.

    `sheet` was printed in the middle of the job (count 4), `last` at its end (count 7).
    """

    data: bytes
    sheet: str
    last: str

    def document(self) -> Document:
        document: Document = json.loads(self.data)
        return document


@contextmanager
def fixed(seed: int) -> Iterator[None]:
    """Make salts and process names the same in every run."""
    numbers = random.Random(seed)
    with (
        mock.patch("secrets.token_hex", lambda count: numbers.randbytes(count).hex()),
        mock.patch("witnessmark.clock.boot_id", lambda: "0b0f0000-0000-4000-8000-000000000001"),
        mock.patch("os.getpid", lambda: 4711),
    ):
        yield


def history(
    seed: int = 1,
    *,
    key: SigningKey | None = None,
    origin: str = "bay1.depot.example",
    pressure: str = "2.1",
    after_key: Callable[[Shop], None] = lambda shop: None,
    after_sheet: str = "close",
    plain: bool = False,
) -> Honest:
    """Write a journal with two jobs and return the evidence of J-1. The arguments are what a forger does otherwise."""
    with fixed(seed), tempfile.TemporaryDirectory() as folder:
        shop = open_shop(Path(folder), key=key, origin=origin)
        with shop.journal:
            after_key(shop)
            for number, act in enumerate(("clean", "open", "flow")):
                for job in ("J-1", "J-2"):
                    shop.clock.advance(7)
                    body = {"act": act, "number": number, "pressure": pressure}
                    shop.journal.append(Draft("note", job, "person:p1", body=body))
            amendment.amend(shop.journal, shop.journal.size - 2, "person:p1", reason="misread", instead={"number": 9})
            sheet = _seal(shop, sheet=True)
            for job in ("J-1", "J-2", "J-1"):
                shop.clock.advance(7)
                shop.journal.append(Draft("note", job, "person:p1", body={"act": after_sheet}))
            last = _seal(shop, sheet=False)
            note = sealing.seal(shop.journal, shop.key, "machine:shop", "close").note if plain else last
            return Honest(sealing.evidence_of(shop.journal, "J-1", note), str(sheet), str(last))


def chain(document: Document) -> Document:
    """Number the entries anew and let each name the one before, as a forger would who left something out."""
    before = None
    for number, one in enumerate(document["entries"]):
        one["job_seq"], one["job_prev"] = number, before
        before = entry.leaf(entry.parse(spell(one))).hex()
    return document


def spell(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()


def _seal(shop: Shop, *, sheet: bool) -> Note:
    return sealing.seal_job(shop.journal, shop.key, "J-1", "person:lead", sheet=sheet, why="printed").note


FORGER = signing_key(66)
