"""SIGKILL while entries are appended: at each write point by name, inside the log's own writes, and at random moments.

Nothing acknowledged may be lost, the journal verifies, and the tree goes on without a fork.
"""

from __future__ import annotations

import os
import random
import resource
import signal
import sqlite3
import tempfile
import threading
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any
from unittest import mock

from tests.fault.child import Tell, append_for_ever, note, start, survived
from witnessmark.clock import SystemClock
from witnessmark.journal import entry, head, personal
from witnessmark.journal.entry import Draft
from witnessmark.journal.store import Journal

POINTS = (
    "before BEGIN", "after BEGIN", "before INSERT", "after INSERT", "before COMMIT", "after COMMIT",
    "before the head file", "after the head file", "before the head's sync", "after the head's sync",
    "before a kept hash", "after a kept hash", "before the log is folded in", "after the log is folded in",
    "before the deletion", "after the deletion", "before VACUUM", "after VACUUM",
)  # fmt: skip
"""Where a process can die between two writes, in the order in which an append, then an erasure, passes them."""

_STATEMENTS = {
    "BEGIN": "BEGIN IMMEDIATE",
    "INSERT": "INSERT INTO entries",
    "COMMIT": "COMMIT",
    "a kept hash": "INSERT OR REPLACE INTO subtrees",
    "the log is folded in": "PRAGMA wal_checkpoint",
    "the deletion": "DELETE FROM personal",
    "VACUUM": "VACUUM",
}


class _Dying:
    """A connection that kills its process before or after the first statement that begins with some words."""

    def __init__(self, connection: sqlite3.Connection, point: str) -> None:
        self._connection = connection
        self._when, _, what = point.partition(" ")
        self._words = _STATEMENTS.get(what, "none of them")

    def execute(self, statement: str, *values: Any) -> sqlite3.Cursor:
        hit = statement.startswith(self._words)
        if hit and self._when == "before":
            _die()
        done = self._connection.execute(statement, *values)
        if hit:
            _die()
        return done

    def __getattr__(self, name: str) -> Any:
        return getattr(self._connection, name)


def at_point(path: Path, point: str) -> dict[str, object]:
    """Kill a child at `point` and return how the journal survived."""
    child = start(lambda tell: _until(path, point, tell))
    acks = dict(child.acks())
    code = child.wait()
    found = survived(path, acks)
    return {"killed": code == -signal.SIGKILL, "acknowledged": len(acks), "lost": found.lost, "verdict": found.verdict}


def in_a_write(path: Path, byte: int) -> dict[str, object]:
    """Kill a child in the write that would make any file longer than `byte`: that write is cut off right there."""

    def work(tell: Tell) -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_DFL)
        resource.setrlimit(resource.RLIMIT_FSIZE, (byte, byte))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        append_for_ever(path, tell)

    child = start(work)
    acks = dict(child.acks())
    code = child.wait()
    found = survived(path, acks)
    return {"killed": code == -signal.SIGXFSZ, "acknowledged": len(acks), "lost": found.lost, "verdict": found.verdict}


def at_random(path: Path, delay_s: float) -> dict[str, object]:
    """Kill a child that appends, `delay_s` after its first acknowledged entry."""
    child = start(lambda tell: append_for_ever(path, tell))
    acks = {}
    for seq, leaf in child.acks():
        if not acks:
            timer = threading.Timer(delay_s, child.kill)
            timer.start()
        acks[seq] = leaf
    code = child.wait()
    timer.join()
    found = survived(path, acks)
    return {"killed": code == -signal.SIGKILL, "acknowledged": len(acks), "lost": found.lost, "verdict": found.verdict}


def new_journal(folder: Path) -> Path:
    """Return a new journal with personal data to erase."""
    path = folder / "bay.journal"
    with Journal.create(path, "bay1.depot.example", SystemClock()) as journal:
        journal.append(Draft("job-opened", "J-1", "person:p1", body={"customer": "Zoe Invented"}))
    return path


def run(count: int, seed: int = 1) -> list[str]:
    """Run the whole campaign and return its figures, a line each. `count` is of random moments."""
    numbers = random.Random(seed)
    lines = []
    for name, trials, make in (
        ("named points", list(POINTS), at_point),
        ("inside a write", [numbers.randrange(40_000, 400_000) for _ in range(count // 5)], in_a_write),
        ("random moments", [numbers.uniform(0, 0.03) for _ in range(count)], at_random),
    ):
        lines.append(f"{name:16} {_trials(make, trials)}")
    return lines


def _trials(make: Callable[[Path, Any], dict[str, object]], trials: list[Any]) -> str:
    figures: Counter[str] = Counter()
    for begin in range(0, len(trials), 25):
        with tempfile.TemporaryDirectory() as folder:
            path = new_journal(Path(folder))
            for one in trials[begin : begin + 25]:
                if make is not at_random:
                    path = new_journal(Path(tempfile.mkdtemp(dir=folder)))
                found = make(path, one)
                figures["killed"] += bool(found["killed"])
                figures["acknowledged"] += int(str(found["acknowledged"]))
                figures["lost"] += int(str(found["lost"]))
                figures["verifies"] += found["verdict"] == "consistent, unanchored"
    said = (
        f"{len(trials)} trials, {figures['killed']} killed, {figures['acknowledged']} entries acknowledged, "
        f"{figures['lost']} lost, {figures['verifies']} journals verify"
    )
    assert (figures["killed"], figures["lost"], figures["verifies"]) == (len(trials), 0, len(trials)), said
    return said


def _until(path: Path, point: str, tell: Tell) -> None:
    """Append until `point` is reached, then erase, so that every point is passed."""
    with Journal.open(path, SystemClock(), write=True) as journal:
        dying: Any = _Dying(journal.connection, point)
        when, _, what = point.partition(" the head")
        write, sync = head.HeadFile._put, os.fdatasync

        def put(file: head.HeadFile, value: head.Slot) -> None:
            _die_if(when == "before" and what == " file")
            write(file, value)
            _die_if(when == "after" and what == " file")

        def sync_head(handle: int) -> None:
            _die_if(when == "before" and what == "'s sync")
            sync(handle)
            _die_if(when == "after" and what == "'s sync")

        if point not in ("before the head file", "after the head file"):
            _append(journal, 250, tell)
        journal.connection = dying
        journal.tree._connection = dying
        with mock.patch.object(head.HeadFile, "_put", put), mock.patch("os.fdatasync", sync_head):
            journal._head_file = None
            _append(journal, 20, tell)
            personal.erase(journal, "J-1", "person:lead", "asked for", [])


def _append(journal: Journal, count: int, tell: Tell) -> None:
    for _ in range(count):
        made = journal.append(note(journal.size))
        tell(made.seq, entry.leaf(made))


def _die_if(now: bool) -> None:
    if now:
        _die()


def _die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)
