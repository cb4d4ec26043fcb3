"""Bytes of the database, its log and the head file flipped, zeroed or cut off at random places.

The damage is named or the file refused, and what is called whole is the same to the byte. Entries before the damage
come out. Nothing is ever called intact that is not.
"""

from __future__ import annotations

import random
import shutil
import tempfile
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from tests.fault.child import note
from tests.journal.shop import Shop, open_shop
from witnessmark.audit.verify import verify
from witnessmark.errors import InputError, JournalError
from witnessmark.journal import sealing
from witnessmark.journal.check import Check, check, rescue
from witnessmark.journal.checkpoint import Note
from witnessmark.journal.entry import Entry
from witnessmark.journal.head import Head
from witnessmark.journal.store import Journal

FILES = ("bay.journal", "bay.journal-wal", "bay.journal.head")
WAYS = ("flipped", "zeroed", "cut off")


@dataclass(frozen=True)
class Sound:
    """A journal as it was before the damage: its files, entries and head, and a checkpoint held elsewhere."""

    folder: Path
    shop: Shop
    entries: tuple[Entry, ...]
    head: Head
    anchor: Note


def sound(folder: Path) -> Sound:
    """Return a journal of 700 entries of which the last 150 lie in the log alone, its files copied while open."""
    kept = folder / "sound"
    kept.mkdir()
    shop = open_shop(folder)
    shop.journal.append_many([note(number) for number in range(550)])
    shop.journal.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    for number in range(550, 699):
        shop.journal.append(note(number))
    anchor = sealing.seal(shop.journal, shop.key, "machine:shop", "close").note
    for name in FILES:
        shutil.copy(folder / name, kept / name)
    return Sound(kept, shop, tuple(shop.journal.entries()), shop.journal.head(), anchor)


def damage(data: bytes, way: str, numbers: random.Random) -> bytes:
    """Return `data` damaged in one place."""
    at = numbers.randrange(len(data))
    if way == "cut off":
        return data[:at]
    if way == "zeroed":
        length = numbers.randrange(1, 64)
        return data[:at] + bytes(min(length, len(data) - at)) + data[at + length :]
    return data[:at] + bytes([data[at] ^ 1 << numbers.randrange(8)]) + data[at + 1 :]


def trial(made: Sound, folder: Path, name: str, way: str, numbers: random.Random) -> str:
    """Damage one copy and return how it was found. Raises AssertionError when it was found wrongly."""
    for file in FILES:
        shutil.copy(made.folder / file, folder / file)
    whole = (folder / name).read_bytes()
    spoiled = damage(whole, way, numbers)
    (folder / name).write_bytes(spoiled)
    path = folder / FILES[0]
    found = check(path, made.shop.clock, made.anchor)
    _check_export(made, path, found)
    if found.damage:
        return "refused" if found.size == 0 else f"named: {found.verdict}"
    with Journal.open(path, made.shop.clock) as journal:
        assert tuple(journal.entries()) == made.entries, f"{name} {way}: called {found.verdict}"
        assert journal.head() == made.head
    return "nothing changed that counts"


def _check_export(made: Sound, path: Path, found: Check) -> None:
    """Hold that the entries of a job before the damage come out as they were.

    One altered entry may come out too, as the last: when only the root shows that something is wrong, not where.
    """
    wanted = tuple(one for one in made.entries if one.job == "J-1" and one.seq < found.size)
    try:
        out = verify(rescue(path, made.shop.clock, "J-1"))
    except (JournalError, InputError):
        assert not wanted
        return
    assert out.verdict == "consistent, unanchored"
    assert len(out.entries) == len(wanted)
    assert out.entries[:-1] == wanted[:-1]
    if out.entries[-1] != wanted[-1]:
        assert found.damage[0].verdict == "altered"
        assert found.damage[0].seq is None


def run(count: int, seed: int = 1) -> list[str]:
    """Run `count` trials and return the figures, a line for each file and way."""
    numbers = random.Random(seed)
    figures: dict[tuple[str, str], Counter[str]] = {}
    with tempfile.TemporaryDirectory() as folder:
        made = sound(Path(folder))
        for number in range(count):
            name, way = FILES[number % 3], WAYS[number // 3 % 3]
            with tempfile.TemporaryDirectory() as place:
                found = trial(made, Path(place), name, way, numbers)
            figures.setdefault((name, way), Counter())[found] += 1
        made.shop.journal.close()
    return [
        f"{name.removeprefix('bay.'):13} {way:8} " + ", ".join(f"{count} {what}" for what, count in row.most_common())
        for (name, way), row in figures.items()
    ]
