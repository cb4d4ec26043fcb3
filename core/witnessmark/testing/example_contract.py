"""The contract of the adapter, with a pseudo-terminal for the other end of the wire."""

from __future__ import annotations

import os
import select
from collections.abc import Sequence
from typing import ClassVar

from witnessmark.clock import SystemClock
from witnessmark.plugin import Frame
from witnessmark.testing import FrameLinkContract
from witnessmark.testing.example_adapter import read_line, write_line


class FarEnd:
    """Plays the interface: it says frames, and hears what the link sends."""

    garbage = b"no frame\n"

    def __init__(self) -> None:
        self._master, slave = os.openpty()
        self._port = os.ttyname(slave)
        os.close(slave)
        self._rest = b""

    @property
    def address(self) -> str:
        return f"example:{self._port}"

    def say(self, frames: Sequence[Frame]) -> None:
        self.write(b"".join(write_line(one) for one in frames))

    def spell(self, frame: Frame) -> bytes:
        return write_line(frame)

    def write(self, raw: bytes) -> None:
        while raw:
            raw = raw[os.write(self._master, raw) :]

    def heard(self, count: int, wait_s: float) -> Sequence[Frame]:
        found: list[Frame] = []
        while len(found) < count and select.select([self._master], [], [], wait_s)[0]:
            try:
                fresh = os.read(self._master, 65536)
            except OSError:  # nobody has the port open
                break
            *lines, self._rest = (self._rest + fresh).split(b"\n")
            stamp = SystemClock().stamp()
            found += [one for line in lines if isinstance(one := read_line(line, stamp), Frame)]
        return found

    def unplug(self) -> None:
        self.close()

    def close(self) -> None:
        if self._master >= 0:
            os.close(self._master)
            self._master = -1


class TestExample(FrameLinkContract):
    scheme: ClassVar[str] = "example"
    missing: ClassVar[str | None] = "example:/dev/no-such-port"
    paced: ClassVar[bool] = False  # a pseudo-terminal holds the sender back

    def far_end(self) -> FarEnd:
        return FarEnd()
