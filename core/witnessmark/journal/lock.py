"""The lock that admits one runner to a journal, held for its life.

The kernel frees it when the holder dies, however it dies; the file itself stays and its text only names who has it, and
on which job, so that others may write of other jobs beside it. Rules that hold here: one writes beside it at a time;
whoever takes the lock begins only when that one has ended, so that what it reads is whole, whatever the text said.
"""

from __future__ import annotations

import fcntl
import json
import os
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from types import TracebackType

from witnessmark.clock import NS, Clock
from witnessmark.errors import JournalError
from witnessmark.journal import canonical

TRIES, TRY_S = 100, 0.05
"""How often and how far apart it is tried whether who writes beside has ended: one line takes some ms."""


def path_of(journal: Path) -> Path:
    """Return where the lock file of `journal` lies."""
    return journal.with_name(journal.name + ".lock")


class InUse(JournalError):
    """Another process has the lock. `job` is the one it works on, empty for the journal itself, or where not known."""

    job = ""


class Lock:
    """Held from construction to `close`. Raises InUse naming the holder when another process has it.

    `who` is a word for people: `job run`, `bay page`; `job` is the one that is worked on, empty for the journal itself,
    `by` the person who works on it.
    """

    def __init__(self, path: Path, who: str, clock: Clock, job: str = "", by: str = "") -> None:
        self._take(path, who, clock, job, by)
        try:
            with _beside(path):
                pass  # who came beside an earlier holder has ended, and no other comes beside this one unseen
        except BaseException:
            self.close()
            raise

    @classmethod
    def by_who_writes_beside(cls, path: Path, who: str, clock: Clock, job: str) -> Lock:
        """Take it as the one that writes beside, where nobody else has it."""
        lock = cls.__new__(cls)
        lock._take(path, who, clock, job)
        return lock

    def _take(self, path: Path, who: str, clock: Clock, job: str, by: str = "") -> None:
        self._fd = _opened(path)
        try:
            fcntl.flock(self._fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            said_by_it = os.pread(self._fd, 4096, 0)
            holder = _holder(said_by_it, clock.stamp().wall_ns)
            self.close()
            held = _job(said_by_it)
            busy = InUse(f"the journal is in use by {holder}", hint=_way_on(held, job))
            busy.job = held
            raise busy from error
        said = {
            "by": by,
            "host": socket.gethostname(),
            "job": job,
            "pid": os.getpid(),
            "since": str(clock.stamp().wall_ns),
            "who": who,
        }
        self._write(canonical.encode(said))

    def close(self) -> None:
        """Let go. The file stays, empty, so that nobody locks a file that another one has just removed."""
        if self._fd >= 0:
            os.close(self._fd)
            self._fd = -1

    def __enter__(self) -> Lock:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _write(self, text: bytes) -> None:
        try:
            os.ftruncate(self._fd, 0)
            os.pwrite(self._fd, text, 0)
        except OSError as error:
            self.close()
            raise JournalError(f"the lock file cannot be written: {error.strerror}", hint="check the disk") from error


@contextmanager
def beside(path: Path, who: str, clock: Clock, job: str) -> Iterator[None]:
    """Hold the lock, or let whoever works on another job keep it. Raises InUse while somebody works on `job`."""
    with _beside(path):
        try:
            lock = Lock.by_who_writes_beside(path, who, clock, job)
        except InUse as busy:
            if busy.job in ("", job):
                raise
            yield
            return
        with lock:
            yield


@contextmanager
def _beside(path: Path) -> Iterator[None]:
    """Be the one that writes beside the lock at `path`. Raises InUse when another one does not end."""
    fd = _opened(path.with_name(path.name + ".beside"))
    try:
        for left in reversed(range(TRIES)):
            try:
                fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
                break
            except BlockingIOError as error:
                if not left:
                    raise InUse(
                        "another program is writing to the journal, and does not end",
                        hint="try again, and end that one if it hangs",
                    ) from error
                threading.Event().wait(TRY_S)
        yield
    finally:
        os.close(fd)


def _opened(path: Path) -> int:
    try:
        return os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
    except OSError as error:
        raise JournalError(
            f"the lock file {path} cannot be opened: {error.strerror}", hint="check the folder's rights and its disk"
        ) from error


def _job(text: bytes) -> str:
    try:
        said = json.loads(text)
        return str(said.get("job", "")) if isinstance(said, dict) else ""
    except ValueError:
        return ""


def _way_on(held: str, wanted: str) -> str:
    """Return what to do where another one holds the journal for a job."""
    if not held:
        return "end that one first, or use another journal"
    if held == wanted:
        return "go on at that screen, or leave it there (key q) and start it here again"
    first = "one job runs in a bay at a time: pause it at that screen (key p), leave it (key q), then start this one"
    return f"{first}; a card of another job may be keyed in meanwhile (`witnessmark job enter`)"


def _holder(text: bytes, now_ns: int) -> str:
    try:
        said = json.loads(text)
        age_s = max(0, now_ns - int(said["since"])) // NS
        age = f"{age_s} s" if age_s < 120 else f"{age_s // 60} min"
        of = f" of job {said['job']}" if said.get("job") else ""
        since = datetime.fromtimestamp(int(said["since"]) / NS).astimezone().strftime("%H:%M")
        by = f" by {said['by']}" if said.get("by") else ""
        return f"{said['who']}{of}{by} (process {said['pid']} on {said['host']}, since {since}, for {age})"
    except (ValueError, KeyError, TypeError, OverflowError, OSError):
        return "another process that has not named itself yet"
