"""Going on after a loss: a copy is put in the place of the journal, or its lost end is accepted because there is none.

A shop and a lead flow in, what was lost flows out and into the journal. Rules that hold here: what is known to be lost
is said in every job that it touched, and where that cannot be known in every job that was not ended; data that was
erased after the copy was made is erased again, so that a copy brings nothing back.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from witnessmark.errors import JournalError
from witnessmark.host.shop import Shop
from witnessmark.journal import copying, mending, personal
from witnessmark.journal import head as heads
from witnessmark.journal.bodies import Loss, Remark, to_body
from witnessmark.journal.check import Check
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.store import Journal

ENDED = ("released", "abandoned")
"""Of a job in such a state nothing more is expected; the journal's own note stands for it."""


@dataclass(frozen=True, slots=True)
class Lost:
    """What is gone: entries from `after` on, up to `known` where that is known, and of what `jobs` (None: not known).

    `erasures` are those among them that could still be read.
    """

    after: int
    known: int | None = None
    jobs: frozenset[str] | None = None
    erasures: tuple[Entry, ...] = ()

    @property
    def nothing(self) -> bool:
        return self.jobs is not None and self.known == self.after


@dataclass(frozen=True, slots=True)
class Restored:
    """How the copy was found, what was lost by it, and whose data was erased again."""

    found: Check
    lost: Lost
    touched: tuple[str, ...]
    erased: tuple[str, ...]


def restore(shop: Shop, origin: Path, by: str, *, accept_shorter: bool) -> Restored:
    """Put the copy at `origin` in the place of the journal. Raises JournalError as `copying.restore` does."""
    lost = _beyond(shop, _size(shop, origin))
    found = copying.restore(origin, shop.journal_path, shop.clock, by, accept_shorter=accept_shorter)
    with shop.write() as journal:
        erased = _erase_again(journal, lost.erasures, by)
        return Restored(found, lost, _say(journal, lost, by), erased)


def accept_loss(shop: Shop, by: str, why: str) -> tuple[Entry, tuple[str, ...]]:
    """Make the head file of the journal anew. Returns the entry that says so, and the jobs that say so too.

    Raises JournalError as `mending.accept_loss` does.
    """
    made = mending.accept_loss(shop.journal_path, shop.clock, by, why)
    noted = made.body["noted"]
    with shop.write() as journal:
        return made, _say(journal, Lost(made.seq, None if noted is None else int(noted["size"])), by)


def _size(shop: Shop, origin: Path) -> int:
    with Journal.open(origin, shop.clock) as journal:
        return journal.size


def _beyond(shop: Shop, size: int) -> Lost:
    """Return what the journal in place has from entry `size` on, as far as it can be read and its head file knows."""
    path = shop.journal_path
    if not path.exists():
        return Lost(size)
    try:
        noted = heads.read(heads.path_of(path))
        with Journal.open(path, shop.clock) as journal:
            rest = list(journal.entries(after_seq=size - 1))
            there = journal.size
    except JournalError:
        return Lost(size)
    jobs = frozenset(entry.job for entry in rest if entry.job is not None)
    erasures = tuple(entry for entry in rest if entry.kind == "erasure")
    if noted is None or noted.size > there:
        return Lost(size, None if noted is None else noted.size, None, erasures)
    return Lost(size, max(there, size), jobs, erasures)


def _erase_again(journal: Journal, erasures: Iterable[Entry], by: str) -> tuple[str, ...]:
    done = []
    for entry in erasures:
        if entry.job is not None and personal.values_of(journal, entry.job):
            why = f"erased before in an entry {entry.seq} that the copy did not have"
            personal.erase(journal, entry.job, by, why, personal.known_copies(journal, entry.job))
            done.append(entry.job)
    return tuple(done)


def _say(journal: Journal, lost: Lost, by: str) -> tuple[str, ...]:
    """Write into each job that may have lost entries that it may have; return those jobs."""
    if lost.nothing:
        return ()
    here = {line.job for line in journal.jobs()}
    touched = sorted(here - _ended(journal) if lost.jobs is None else here & lost.jobs)
    body = to_body(Remark(lost=Loss(start=lost.after, end=None if lost.known is None else lost.known - 1)))
    journal.append_many([Draft("note", job, by, body=body) for job in touched])
    return tuple(touched)


def _ended(journal: Journal) -> set[str]:
    states = {entry.job: entry.body.get("state") for entry in journal.entries(kind="state") if entry.job is not None}
    return {job for job, state in states.items() if state in ENDED}
