"""Makes inputs out of seeds, the same ones every time: a target's name, a number and its seeds in, bytes out."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence

INTERESTING = (0x00, 0x01, 0x07, 0x08, 0x0F, 0x10, 0x20, 0x30, 0x7F, 0x80, 0xFF, *b"0#() \n\r")
LONGEST = 4096


def inputs(name: str, seeds: Sequence[bytes], count: int, seed: int = 0) -> Iterator[bytes]:
    """Yield the seeds themselves, then mutations of them."""
    chance = random.Random(f"{seed} {name}")
    known = list(seeds) or [b""]
    for number in range(count):
        if number < len(known):
            yield known[number]
            continue
        data = bytearray(chance.choice(known))
        for _ in range(1 + chance.randrange(4)):
            _change(data, known, chance)
        yield bytes(data[:LONGEST])


def _change(data: bytearray, known: Sequence[bytes], chance: random.Random) -> None:
    at = chance.randrange(len(data) + 1)
    end = min(len(data), at + 1 + chance.randrange(8))
    how = chance.randrange(9)
    if how == 0 and at < len(data):
        data[at] ^= 1 << chance.randrange(8)
    elif how == 1 and at < len(data):
        data[at] = chance.choice(INTERESTING)
    elif how == 2:
        data[at:end] = chance.randbytes(end - at)
    elif how == 3:
        del data[at:end]
    elif how == 4:
        data[at:at] = data[at:end] * (1 + chance.randrange(3))
    elif how == 5:
        data[at:at] = chance.randbytes(1 + chance.randrange(8))
    elif how == 6:
        del data[at:]
    elif how == 7:
        other = chance.choice(known)
        data[at:] = other[chance.randrange(len(other) + 1) :]
    elif at < len(data):
        data[at] = (data[at] + chance.choice((1, -1))) & 0xFF
