"""Going on after a loss that nothing can undo: the head file is made anew, and an entry says what it knew.

A journal whose entries are sound but whose head file is gone, damaged or ahead cannot be written to, because a lost end
must not pass unseen. When there is no second copy to restore, a person accepts the loss here, by name.
"""

from __future__ import annotations

from pathlib import Path

from witnessmark.clock import Clock
from witnessmark.errors import JournalError
from witnessmark.journal import head as heads
from witnessmark.journal import lock
from witnessmark.journal.check import check
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.store import Journal


def accept_loss(path: Path, clock: Clock, by: str, why: str) -> Entry:
    """Make the head file of the journal at `path` anew and return the `note` entry that says what was lost.

    Raises JournalError when nothing is wrong with the head file, when entries themselves are damaged (restore a copy
    then), or while somebody has the journal.
    """
    with lock.Lock(lock.path_of(path), "accepting a loss", clock):
        found = check(path, clock)
        if not found.damage:
            raise JournalError("nothing is lost that the head file knows of", hint="go on working")
        worse = [one.text for one in found.damage if one.where != "head file"]
        if worse:
            raise JournalError(f"more than the end is damaged: {worse[0]}", hint="restore the second copy")
        file = heads.path_of(path)
        noted = heads.read(file) if file.exists() else None
        if file.exists():
            file.replace(file.with_name(file.name + ".before"))
        with Journal.open(path, clock) as journal:
            left = journal.head()
        made = heads.HeadFile(file)
        made.write(heads.slot(left), clock.mono_ns())
        made.close()
        body = {
            "accepted_loss": found.damage[0].text,
            "left": {"root": left.root, "size": left.size},
            "noted": None if noted is None else {"root": noted.root, "size": noted.size},
            "why": why,
        }
        with Journal.open(path, clock, write=True) as journal:
            return journal.append(Draft("note", None, by, body=body))
