"""The runner process as it is, but for one fault: it dies, or its disk is full, at a write that was named.

`python -m tests.fault.dying_runner --acks FILE --fault "KIND WHEN" ...`, then the words of the runner itself. Each
entry that was acknowledged is written to FILE before the runner hears of it, so that a kill can lose none from there.
"""

from __future__ import annotations

import argparse
import os
import resource
import signal
import sys
from collections.abc import Sequence
from typing import Any

from witnessmark.host import runner_process
from witnessmark.journal import entry as entries
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.head import HeadFile, Slot
from witnessmark.journal.lock import Lock
from witnessmark.journal.store import Journal

WHENS = ("before it is written", "before it is noted", "before it is heard of")
"""Before the transaction; after the commit and before the head file; after both and before anybody is told."""
FULL = "disk full"
NOBODY = 65534


def main(words: list[str]) -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--acks", required=True)
    parser.add_argument("--fault", default="")
    parser.add_argument("--as-nobody", action="store_true")
    asked, rest = parser.parse_known_args(words)
    kind, _, when = asked.fault.partition(" ")
    acks = os.open(asked.acks, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o644)
    if asked.as_nobody:
        _give_up_root_at_the_lock()
    _tamper(acks, kind, when)
    return runner_process.main(rest)


def _tamper(acks: int, kind: str, when: str) -> None:
    """Put the fault at the first entry of `kind`, and the acknowledgements into `acks`."""
    append_many, write = Journal.append_many, HeadFile.write
    at_fault = [False]

    def append(self: Journal, drafts: Sequence[Draft]) -> list[Entry]:
        hit = any(draft.kind == kind for draft in drafts)
        if hit and when == WHENS[0]:
            _die()
        if hit and when == FULL:
            _fill_disk()
        at_fault[0] = hit and when == WHENS[1]
        made = append_many(self, drafts)
        for one in made:
            os.write(acks, f"{one.seq} {entries.leaf(one).hex()}\n".encode())
        if hit and when == WHENS[2]:
            _die()
        return made

    def note(self: HeadFile, slot: Slot, now_ns: int) -> None:
        if at_fault[0]:
            _die()
        write(self, slot, now_ns)

    Journal.append_many = append  # type: ignore[method-assign]
    HeadFile.write = note  # type: ignore[method-assign]


def _give_up_root_at_the_lock() -> None:
    """Become nobody right before the journal is touched: by then everything is imported."""
    begin = Lock.__init__

    def init(self: Lock, *words: Any) -> None:
        if os.getuid() == 0:
            os.setuid(NOBODY)
        begin(self, *words)

    Lock.__init__ = init  # type: ignore[method-assign]


def _fill_disk() -> None:
    """Let no file grow any more (RLIMIT_FSIZE): the kernel refuses each write beyond 4 kB, as on a full disk."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, resource.RLIM_INFINITY))


def _die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
