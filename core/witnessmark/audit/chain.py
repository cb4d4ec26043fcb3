"""The entries of one job checked among themselves, and against a count and head said elsewhere.

Exact texts flow in; out flows the `Chain` that could be read, and the first `Fault`. Rules that hold here: each text is
read strictly; the job's own numbers run from 0 without a hole; each entry names the leaf hash of the one before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from witnessmark.errors import InputError
from witnessmark.journal import entry as entries
from witnessmark.journal import merkle
from witnessmark.journal.checkpoint import JobPin
from witnessmark.journal.entry import Entry, LaterFormat


@dataclass(frozen=True, slots=True)
class Fault:
    """The first thing that is wrong: the verdict it makes, in words, and the entry and place it was met at.

    `anchor_only` tells that nothing but the anchor shows it.
    """

    verdict: str
    text: str
    seq: int | None = None
    place: str = ""
    anchor_only: bool = False


@dataclass(frozen=True, slots=True)
class Chain:
    """The entries of a job that could be read, and their leaf hashes."""

    entries: tuple[Entry, ...]
    leaves: tuple[bytes, ...]

    @property
    def job(self) -> str | None:
        return self.entries[0].job if self.entries else None

    @property
    def head(self) -> str:
        return self.leaves[-1].hex() if self.leaves else ""


def read_chain(texts: Sequence[bytes]) -> tuple[Chain, Fault | None]:
    """Return the entries up to the first that cannot be read, and what is wrong first. Raises LaterFormat."""
    found: list[Entry] = []
    fault = None
    for number, text in enumerate(texts):
        try:
            found.append(entries.parse(text, place=f"entries[{number}]"))
        except LaterFormat:
            raise
        except InputError as error:
            fault = Fault("altered", f"an entry is not as a journal writes it: {error.what}", place=error.place)
            break
    chain = Chain(tuple(found), tuple(merkle.leaf_hash(text) for text in texts[: len(found)]))
    return chain, _first_break(chain) or fault


def check_pin(chain: Chain, pin: JobPin, what: str, place: str, *, anchor_only: bool = False) -> Fault | None:
    """Return what is wrong when `what` says count and head of this job's entries. A pin of another job says nothing."""
    if pin.job is not None and pin.job != chain.job:
        return None
    count = len(chain.entries)
    if pin.count > count:
        text = (
            f"{what} counts {pin.count} entries of this job, {count} are here: the last {pin.count - count} are missing"
        )
        return Fault("entries missing", text, chain.entries[-1].seq if count else None, place, anchor_only)
    if not chain.leaves[pin.count - 1].hex().startswith(pin.head):
        seq = chain.entries[pin.count - 1].seq
        text = f"entry {seq}, or one before it, is not the one that {what} was made over"
        return Fault("altered", text, seq, place, anchor_only)
    return None


def _first_break(chain: Chain) -> Fault | None:
    numbers = {entry.job_seq for entry in chain.entries}
    for number, entry in enumerate(chain.entries):
        place = f"entries[{number}]"
        before = chain.entries[number - 1] if number else None
        if entry.job is None or entry.job != chain.job:
            return Fault("altered", f"entry {entry.seq} belongs to another job", entry.seq, place)
        if before is not None and entry.seq <= before.seq:
            return Fault("altered", f"entry {entry.seq} stands after entry {before.seq}", entry.seq, place)
        assert entry.job_seq is not None
        if entry.job_seq > number and number not in numbers:
            which = f"entry {number} is" if number + 1 in numbers else f"entries from {number} on are"
            return Fault("entries missing", f"the job's {which} left out here (counted from 0)", entry.seq, place)
        if entry.job_seq != number:
            text = f"entry {entry.seq} says that it is number {entry.job_seq} of the job and stands at {number}"
            return Fault("altered", text, entry.seq, place)
        if before is not None and entry.job_prev != chain.leaves[number - 1].hex():
            text = f"entry {before.seq} is not the one that entry {entry.seq} was written after"
            return Fault("altered", text, before.seq, f"entries[{number - 1}]")
    return None
