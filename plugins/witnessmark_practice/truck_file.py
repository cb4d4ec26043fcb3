"""`truck.json`: where a running practice truck is found, and the clock it lives by.

Rules that hold here: the file is written whole; a truck holds its folder's `lock` for as long as it lives, so that the
file of one that was killed is not believed (its port may be anybody's by then).
"""

from __future__ import annotations

import importlib.util
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Literal, TextIO

import msgspec

from witnessmark.clock import Stamp
from witnessmark.errors import InputError, LocalError

NAME = "truck.json"
LOCK = "lock"
HAS_LOCKS = importlib.util.find_spec("fcntl") is not None


class TruckFile(msgspec.Struct, frozen=True, kw_only=True):
    """The document. `port` is a path from its folder, or a URL of pyserial; `profile` is the adapter's, `hands` the
    socket of the hands."""

    format: Literal["witnessmark-practice-truck/1"] = "witnessmark-practice-truck/1"
    port: str
    hands: str
    rate: int
    origin_wall_ns: int
    origin_mono_ns: int
    origin_boot_ns: int | None
    profile: str
    pid: int

    @property
    def origin(self) -> Stamp:
        return Stamp(self.origin_wall_ns, self.origin_mono_ns, self.origin_boot_ns)

    def port_from(self, folder: Path) -> str:
        """Return what pyserial opens for a truck addressed as `folder`: no more of this machine's paths than that."""
        return self.port if "://" in self.port else str(folder / self.port)


def hold_folder(folder: Path) -> TextIO:
    """Hold the folder for as long as the file returned is open. Raises LocalError when a truck has it."""
    file = (folder / LOCK).open("w", encoding="ascii")
    if not _lock(file):
        file.close()
        raise LocalError(f"a practice truck already runs in {folder}", hint="use it, or another folder")
    return file


def write_truck_file(folder: Path, document: TruckFile) -> None:
    """Write it whole or not at all. Raises LocalError when it cannot be written."""
    fresh = folder / (NAME + ".new")
    with writing(folder):
        fresh.write_bytes(msgspec.json.format(msgspec.json.encode(document)) + b"\n")
        os.replace(fresh, folder / NAME)


@contextmanager
def writing(folder: Path) -> Iterator[None]:
    """Raise LocalError for what cannot be made in a truck's folder."""
    try:
        yield
    except OSError as error:
        place = error.filename or folder
        raise LocalError(
            f"no practice truck can run in {folder}: {place}: {error.strerror or error}",
            hint="name a folder that you may write in and that is no file: witnessmark practice start FOLDER",
        ) from error


def read_truck_file(folder: Path) -> TruckFile:
    """Read it. Raises InputError with the command that starts a truck when there is none."""
    path = folder / NAME
    start = f"start a truck first: witnessmark practice start {folder}"
    try:
        document = msgspec.json.decode(path.read_bytes(), type=TruckFile)
    except PermissionError as error:
        what = "the practice truck here belongs to another user"
        raise InputError(
            what, place=str(folder), hint="run as that user, or start a truck in another folder"
        ) from error
    except OSError as error:
        raise InputError("no practice truck runs here", place=str(folder), hint=start) from error
    except msgspec.MsgspecError as error:
        raise InputError(f"not a practice truck's file: {error}", place=str(path), hint=start) from error
    if not _is_held(folder):
        raise InputError("the practice truck that ran here is gone", place=str(folder), hint=start)
    return document


def _is_held(folder: Path) -> bool:
    try:
        with (folder / LOCK).open(encoding="ascii") as file:
            return not _lock(file) or not HAS_LOCKS
    except OSError:
        return False


def _lock(file: TextIO) -> bool:
    """Lock a file without waiting; say whether that worked. Without locks on this system it always does."""
    try:
        import fcntl
    except ImportError:
        return True
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True
