"""`truck.json`: where a running practice truck is found, and the clock it lives by."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Literal

import msgspec

from witnessmark.clock import Stamp
from witnessmark.errors import InputError

NAME = "truck.json"


class TruckFile(msgspec.Struct, frozen=True, kw_only=True):
    """The document. `port` is what pyserial opens, `profile` the adapter's, `hands` the socket of the hands."""

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


def write_truck_file(folder: Path, document: TruckFile) -> None:
    """Write it whole or not at all."""
    fresh = folder / (NAME + ".new")
    fresh.write_bytes(msgspec.json.format(msgspec.json.encode(document)) + b"\n")
    os.replace(fresh, folder / NAME)


def read_truck_file(folder: Path) -> TruckFile:
    """Read it. Raises InputError with the command that starts a truck when there is none."""
    path = folder / NAME
    start = f"start a truck first: python -m witnessmark_practice {folder}"
    try:
        return msgspec.json.decode(path.read_bytes(), type=TruckFile)
    except OSError as error:
        raise InputError("no practice truck runs here", place=str(folder), hint=start) from error
    except msgspec.MsgspecError as error:
        raise InputError(f"not a practice truck's file: {error}", place=str(path), hint=start) from error
