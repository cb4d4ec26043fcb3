"""The thread that writes: drafts flow in without waiting, acknowledgements flow out in order.

Rules that hold here: the loop that owns the wire never waits for disk; an entry is acknowledged only after the journal
has synced it; the order of entries is the order of submission; what cannot be recorded comes back as the error.
"""

from __future__ import annotations

import os
import threading
from collections import deque
from collections.abc import Callable
from queue import SimpleQueue
from typing import Protocol

from witnessmark.errors import JournalError, WitnessmarkError
from witnessmark.journal.entry import Draft, Entry


class Appends(Protocol):
    """What the thread needs of a journal."""

    def append(self, draft: Draft) -> Entry: ...


class Ticket:
    """One thing submitted. `done` once it is on disk (`entry`) or failed (`error`); then the loop calls `then`."""

    def __init__(self, work: Callable[[], Entry | None]) -> None:
        self.work = work
        self.done = False
        self.entry: Entry | None = None
        self.error: WitnessmarkError | None = None
        self.then: Callable[[Ticket], None] | None = None


class JournalThread:
    """Writes for one loop. `fileno` becomes readable when `collect` has something."""

    def __init__(self, journal: Appends) -> None:
        self._journal = journal
        self._todo: SimpleQueue[Ticket | None] = SimpleQueue()
        self._finished: deque[Ticket] = deque()
        self._reader, self._writer = os.pipe()
        os.set_blocking(self._reader, False)
        self._thread = threading.Thread(target=self._run, name="journal", daemon=True)
        self.waiting = 0
        self._thread.start()

    def fileno(self) -> int:
        return self._reader

    def submit(self, draft: Draft) -> Ticket:
        """Record `draft`; return at once."""
        return self.call(lambda: self.append(draft))

    def append(self, draft: Draft) -> Entry:
        """Append at once: only for work that `call` does in the journal's thread."""
        return self._journal.append(draft)

    def call(self, work: Callable[[], Entry | None]) -> Ticket:
        """Do `work` in turn, in the thread; it may read the journal and may append one entry, which it returns."""
        ticket = Ticket(work)
        self.waiting += 1
        self._todo.put(ticket)
        return ticket

    def collect(self) -> list[Ticket]:
        """Return what has finished since, in order."""
        while True:
            try:
                if not os.read(self._reader, 4096):
                    break
            except BlockingIOError:
                break
        finished = []
        while self._finished:
            finished.append(self._finished.popleft())
        self.waiting -= len(finished)
        return finished

    def close(self) -> None:
        """Write what is left, then end the thread."""
        self._todo.put(None)
        self._thread.join()
        os.close(self._writer)
        os.close(self._reader)

    def _run(self) -> None:
        while (ticket := self._todo.get()) is not None:
            try:
                ticket.entry = ticket.work()
            except WitnessmarkError as error:
                ticket.error = error
            except Exception as error:  # noqa: BLE001 - whatever it is, the loop must hear that nothing was recorded
                ticket.error = JournalError(f"it cannot be recorded: {error}", hint="check disk and journal")
            ticket.done = True
            self._finished.append(ticket)
            os.write(self._writer, b".")
