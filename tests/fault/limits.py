"""A disk that is full, files that are read-only, and several writers: each in a process of its own.

A full disk is stood in for by RLIMIT_FSIZE, which makes the kernel refuse each write beyond a size; read-only files are
met by a process that has given up root.
"""

from __future__ import annotations

import os
import resource
import signal
import tempfile
from collections.abc import Callable
from pathlib import Path

from tests.fault.child import Tell, note, start, survived
from witnessmark.clock import SystemClock
from witnessmark.errors import JournalError
from witnessmark.journal import entry, lock
from witnessmark.journal.store import Journal

NOBODY = 65534


def disk_full(path: Path, byte: int) -> tuple[dict[int, bytes], bool]:
    """Append until no file may grow beyond `byte`, then free the disk and append once more.

    Returns what was acknowledged, and whether the refusal was a JournalError whose hint names the disk.
    """

    def work(tell: Tell) -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        with Journal.open(path, SystemClock(), write=True) as journal:
            resource.setrlimit(resource.RLIMIT_FSIZE, (byte, resource.RLIM_INFINITY))
            try:
                while True:
                    made = journal.append(note(journal.size))
                    tell(made.seq, entry.leaf(made))
            except JournalError as error:
                assert "disk" in error.hint, error.hint
            resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
            made = journal.append(note(journal.size))
            tell(made.seq, entry.leaf(made))

    return _told(work)


def read_only() -> bool:
    """Tell whether a process that may not write is refused as a writer, and reads all the same."""
    with tempfile.TemporaryDirectory() as folder:
        Path(folder).chmod(0o755)
        return _read_only(new_journal(Path(folder) / "bay"))


def _read_only(path: Path) -> bool:

    def work(tell: Tell) -> None:
        with Journal.open(path, SystemClock()) as journal:
            size = journal.size
        for file in path.parent.iterdir():
            file.chmod(0o444)
        path.parent.chmod(0o555)
        if os.getuid() == 0:
            os.setuid(NOBODY)
        with Journal.open(path, SystemClock()) as journal:
            assert sum(1 for _ in journal.entries()) == size
        refused: list[Callable[[], object]] = [
            lambda: Journal.open(path, SystemClock(), write=True).append(note(0)),
            lambda: lock.Lock(lock.path_of(path), "job run", SystemClock()),
            lambda: Journal.create(path.with_name("other"), "bay1.depot.example", SystemClock()),
        ]
        for attempt in refused:
            try:
                attempt()
            except JournalError as error:
                assert error.hint
            else:
                raise AssertionError("a read-only journal was written to")

    _, fine = _told(work)
    path.parent.chmod(0o755)
    return fine


def two_writers(path: Path, count: int) -> dict[int, bytes]:
    """Let two processes append `count` entries each at the same time, and return all that was acknowledged."""

    def work(tell: Tell) -> None:
        with Journal.open(path, SystemClock(), write=True) as journal:
            for number in range(count):
                made = journal.append(note(number))
                tell(made.seq, entry.leaf(made))

    children = [start(work), start(work)]
    acks = [dict(child.acks()) for child in children]
    assert [child.wait() for child in children] == [0, 0]
    assert not acks[0].keys() & acks[1].keys(), "two entries of one number"
    return acks[0] | acks[1]


def run(count: int, seed: int = 1) -> list[str]:
    """Run each fault and return its figures, a line each."""
    lines = []
    with tempfile.TemporaryDirectory() as folder:
        refused = lost = verifies = 0
        sizes = range(30_000, 30_000 + 400 * count, 4001)
        for number, byte in enumerate(sizes):
            path = new_journal(Path(folder) / f"full{number}")
            acks, fine = disk_full(path, byte)
            found = survived(path, acks)
            refused, lost = refused + fine, lost + found.lost
            verifies += found.verdict == "consistent, unanchored"
        lines.append(
            f"disk full        {len(sizes)} trials, {refused} refused with a hint and went on later, {lost} lost, "
            f"{verifies} journals verify (RLIMIT_FSIZE)"
        )
        assert (refused, lost, verifies) == (len(sizes), 0, len(sizes)), lines[-1]
        assert read_only(), "a read-only journal was written to, or could not be read"
        lines.append("read-only        readable, every write refused")
        path = new_journal(Path(folder) / "two")
        acks = two_writers(path, count)
        found = survived(path, acks)
        lines.append(f"two writers      {len(acks)} entries acknowledged, {found.lost} lost, {found.verdict}")
        assert (found.lost, found.verdict) == (0, "consistent, unanchored"), lines[-1]
    return lines


def new_journal(folder: Path) -> Path:
    folder.mkdir()
    path = folder / "bay.journal"
    Journal.create(path, "bay1.depot.example", SystemClock()).close()
    return path


def _told(work: Callable[[Tell], None]) -> tuple[dict[int, bytes], bool]:
    child = start(work)
    acks = dict(child.acks())
    return acks, child.wait() == 0
