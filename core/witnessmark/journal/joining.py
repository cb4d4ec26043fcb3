"""The entries of a job that went from bay to bay, as one row that can be read from its beginning.

The parts of a job flow in, in order, each with the numbers of its own journal; one row flows out. Rules that hold here:
numbers of two journals never collide, since those of one part are moved by a round number, and the references between
entries of that part with them; nothing else of an entry is changed. Where a part's first entry stands for a run of the
part before that something was owed for, `after_first` lets what names that entry name the run. A row made so is for
reading: it has no hashes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import chain

import msgspec

from witnessmark.journal.entry import Entry

REFERENCES = ("actuation", "approval", "exchange", "target")
"""The fields of a body that name another entry by its `seq`."""
_FAR = 10**12


def before_last(parts: Sequence[Sequence[Entry]]) -> tuple[Entry, ...]:
    """Return the row in which the last part keeps its numbers and those of earlier ones are negative."""
    return _row(parts, [(number - len(parts) + 1) * _FAR for number in range(len(parts))])


def after_first(parts: Sequence[Sequence[Entry]]) -> tuple[Entry, ...]:
    """Return the row in which the first part keeps its numbers and each later one begins at a round number."""
    moves = [number * step(parts) for number in range(len(parts))]
    stands_for: dict[int, int] = {}
    for number, part in enumerate(parts[1:], 1):
        owed = part[0].body.get("owed") if part else None
        if isinstance(owed, int):
            there = owed + moves[number - 1]
            stands_for[part[0].seq + moves[number]] = stands_for.get(there, there)
    row = _row(parts, moves)
    return tuple(_named(one, stands_for) for one in row) if stands_for else row


def step(parts: Sequence[Sequence[Entry]]) -> int:
    """Return by how much `after_first` moves each part: a power of ten above every number in them."""
    highest = max((entry.seq for part in parts for entry in part), default=0)
    return int(10 ** max(3, len(str(highest))))


def _row(parts: Sequence[Sequence[Entry]], moves: Sequence[int]) -> tuple[Entry, ...]:
    if len(parts) == 1:
        return tuple(parts[0])
    job = parts[-1][0].job
    return tuple(
        chain.from_iterable((_moved(one, by, job) for one in part) for part, by in zip(parts, moves, strict=True))
    )


def _named(entry: Entry, stands_for: Mapping[int, int]) -> Entry:
    named = stands_for.get(entry.body.get("actuation", -1))
    return entry if named is None else msgspec.structs.replace(entry, body={**entry.body, "actuation": named})


def _moved(entry: Entry, by: int, job: str | None) -> Entry:
    body = entry.body
    if by:
        named = {key: body[key] + by for key in REFERENCES if isinstance(body.get(key), int)}
        body = {**body, **named} if named else body
    return msgspec.structs.replace(entry, seq=entry.seq + by, job=job, body=body)
