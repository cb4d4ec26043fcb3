"""A child process of our own that works on a journal until it is killed, and reports what was acknowledged to it."""

from __future__ import annotations

import os
import signal
import struct
import sys
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from witnessmark.clock import SystemClock
from witnessmark.journal import entry
from witnessmark.journal.check import check
from witnessmark.journal.entry import Draft
from witnessmark.journal.store import Journal

_ACK = struct.Struct("<Q32s")
Tell = Callable[[int, bytes], None]


@dataclass
class Child:
    """A forked process. `pid` is ours to kill; `acks` yields (seq, leaf hash) until it ends."""

    pid: int
    _pipe: int

    def acks(self) -> Iterator[tuple[int, bytes]]:
        while len(data := os.read(self._pipe, _ACK.size)) == _ACK.size:
            yield _ACK.unpack(data)

    def kill(self) -> None:
        os.kill(self.pid, signal.SIGKILL)

    def wait(self) -> int:
        """Return what waitpid says of its end: the signal that ended it negated, or its exit code."""
        _, status = os.waitpid(self.pid, 0)
        os.close(self._pipe)
        return os.waitstatus_to_exitcode(status)


def start(work: Callable[[Tell], None]) -> Child:
    """Fork a child that runs `work`, which calls what it is given after each acknowledged entry."""
    reader, writer = os.pipe()
    pid = os.fork()
    if pid == 0:
        code = 1
        try:
            os.close(reader)
            work(lambda seq, leaf: _write(writer, seq, leaf))
            code = 0
        finally:
            if code:
                traceback.print_exc(file=sys.stderr)
            os._exit(code)  # the child must never come back into the test run
    os.close(writer)
    return Child(pid, reader)


def append_for_ever(path: Path, tell: Tell) -> None:
    """Append entries of three jobs, one to three at a time, telling each that was acknowledged, until killed."""
    with Journal.open(path, SystemClock(), write=True) as journal:
        while True:
            number = journal.size
            drafts = [note(number + more) for more in range(1 + number % 3)]
            for made in journal.append_many(drafts):
                tell(made.seq, entry.leaf(made))


def note(number: int) -> Draft:
    return Draft("note", f"J-{number % 3}", "person:p1", body={"n": number, "raw": bytes(number % 200)})


@dataclass(frozen=True)
class Survival:
    """What a journal looks like after a fault: entries, acknowledged ones that are lost or changed, and the verdict."""

    size: int
    lost: int
    verdict: str


def survived(path: Path, acks: dict[int, bytes]) -> Survival:
    """Open the journal as the next writer does, append to it, and compare it with what was acknowledged."""
    clock = SystemClock()
    with Journal.open(path, clock, write=True) as journal:
        journal.append(note(journal.size))
        leaves = {made.seq: entry.leaf(made) for made in journal.entries()}
    lost = sum(leaves.get(seq) != leaf for seq, leaf in acks.items())
    return Survival(len(leaves), lost, check(path, clock).verdict)


def _write(pipe: int, seq: int, leaf: bytes) -> None:
    os.write(pipe, _ACK.pack(seq, leaf))
