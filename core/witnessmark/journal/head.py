"""The head file beside a journal: how many entries there are and their root, after each commit.

It exists because a damaged write-ahead log loses acknowledged entries without SQLite calling it an error. Rules that
hold here:

- it is written after the commit and before the entry is acknowledged, so it may lag behind the database by the commit
  that a crash cut off, and is never ahead of it: *ahead means that the tail was lost*;
- it has two slots in sectors of their own, each with its own check; the older one is overwritten in place, so a torn
  write leaves the other;
- it is synced at most once in SYNC_EVERY_NS and on closing. The kernel holds what was written, so a killed process
  loses nothing; after a power cut the file may lag by that long, and the log, synced each time, is what counts.
  (A sync each time was tried: it costs as much as the commit's own.)
"""

from __future__ import annotations

import fcntl
import os
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from witnessmark.errors import JournalError

SLOT_SIZE = 512
SYNC_EVERY_NS = 1_000_000_000
_WORD = "witnessmark-head 1"


@dataclass(frozen=True, slots=True)
class Head:
    """Count of entries and root of the tree over them."""

    size: int
    root: bytes


@dataclass(frozen=True, slots=True)
class Slot:
    """A head of `size` as it is written."""

    size: int
    data: bytes


def path_of(journal: Path) -> Path:
    """Return where the head file of `journal` lies."""
    return journal.with_name(journal.name + ".head")


def read(path: Path) -> Head | None:
    """Return the newest head in `path`, or None when neither slot is whole. Raises JournalError if unreadable."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise JournalError(
            f"the head file {path} cannot be read: {error.strerror}",
            hint="restore the second copy, or see `witnessmark accept-loss`: without it a lost end does not show",
        ) from error
    return max(filter(None, _heads(data)), key=lambda head: head.size, default=None)


class HeadFile:
    """A head file held open by a writer. Safe between processes: a write takes a lock on the file."""

    def __init__(self, path: Path) -> None:
        try:
            self._fd = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
        except OSError as error:
            raise JournalError(
                f"the head file {path} cannot be opened for writing: {error.strerror}",
                hint="check the file's rights and its disk",
            ) from error
        self._seen: tuple[bytes, list[int]] = (b"", [-1, -1])
        self._synced_ns: int | None = None

    def write(self, slot: Slot, now_ns: int) -> None:
        """Put `slot` in the place of the older one, and sync when that is due at the monotonic time `now_ns`.

        Nothing is written when a newer one stands there. Raises JournalError when it cannot be written; what stood
        there before still stands.
        """
        try:
            fcntl.flock(self._fd, fcntl.LOCK_EX)
            try:
                self._put(slot)
            finally:
                fcntl.flock(self._fd, fcntl.LOCK_UN)
            if self._synced_ns is None or now_ns - self._synced_ns >= SYNC_EVERY_NS:
                os.fdatasync(self._fd)
                self._synced_ns = now_ns
        except OSError as error:
            raise JournalError(
                f"the head file cannot be written: {error.strerror}", hint="check the disk; the entry is in the journal"
            ) from error

    def close(self) -> None:
        """Sync and close it; again is harmless."""
        if self._fd >= 0:
            try:
                os.fdatasync(self._fd)
            finally:
                os.close(self._fd)
                self._fd = -1

    def _put(self, slot: Slot) -> None:
        data = os.pread(self._fd, 2 * SLOT_SIZE, 0)
        if data != self._seen[0]:
            self._seen = (data, [-1 if head is None else head.size for head in _heads(data)])
        sizes = self._seen[1]
        if max(sizes) < slot.size:
            older = sizes.index(min(sizes))
            begin = SLOT_SIZE * older
            os.pwrite(self._fd, slot.data, begin)
            data = data.ljust(2 * SLOT_SIZE, b"\0")
            sizes[older] = slot.size
            self._seen = (data[:begin] + slot.data + data[begin + SLOT_SIZE :], sizes)


def slot(head: Head) -> Slot:
    """Return the slot that says `head`: a line, padded."""
    said = f"{_WORD} {head.size} {head.root.hex()}"
    check = sha256(said.encode()).hexdigest()[:16]
    return Slot(head.size, f"{said} {check}".encode().ljust(SLOT_SIZE - 1) + b"\n")


def _heads(data: bytes) -> tuple[Head | None, Head | None]:
    return _head(data[:SLOT_SIZE]), _head(data[SLOT_SIZE : 2 * SLOT_SIZE])


def _head(data: bytes) -> Head | None:
    try:
        said, _, _check = data.decode("ascii").rstrip().rpartition(" ")
        word, size, root = said.rsplit(" ", 2)
        head = Head(int(size), bytes.fromhex(root))
    except ValueError:
        return None
    return head if data == slot(head).data and word == _WORD else None
