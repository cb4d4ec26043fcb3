"""The other ends of python-can's buses: a serial-line interface on a pseudo-terminal, and a bus in this process."""

from __future__ import annotations

import itertools
import os
import select
from collections.abc import Sequence
from typing import Any

import can

from witnessmark.clock import NS, SystemClock
from witnessmark.link.frame import Frame
from witnessmark.testing import NotPossible

_NUMBERS = itertools.count(1)


def slcan_line(frame: Frame) -> bytes:
    """Write a frame as the serial-line protocol does: t or T with data, r or R without."""
    letter = "r" if frame.kind == "remote" else "t"
    can_id = f"{frame.can_id:08X}" if frame.extended else f"{frame.can_id:03X}"
    data = "" if frame.kind == "remote" else frame.data.hex().upper()
    return f"{letter.upper() if frame.extended else letter}{can_id}{len(frame.data)}{data}\r".encode()


class SlcanFarEnd:
    """The interface itself, played on the other side of a pseudo-terminal."""

    garbage = b"what is this\r"

    def __init__(self) -> None:
        self._master, slave = os.openpty()
        self.path = os.ttyname(slave)
        os.close(slave)
        self._rest = b""
        self.commands: list[bytes] = []

    @property
    def address(self) -> str:
        return f"canbus:slcan/{self.path}?bitrate=500000&can.sleep_after_open=0"

    def say(self, frames: Sequence[Frame]) -> None:
        self.write(b"".join(slcan_line(one) for one in frames))

    def spell(self, frame: Frame) -> bytes:
        return slcan_line(frame)

    def write(self, raw: bytes) -> None:
        while raw:
            raw = raw[os.write(self._master, raw) :]

    def heard(self, count: int, wait_s: float) -> Sequence[Frame]:
        clock = SystemClock()
        end_ns = clock.mono_ns() + round(wait_s * NS)
        found: list[Frame] = []
        while len(found) < count:
            left_s = (end_ns - clock.mono_ns()) / NS
            if left_s <= 0 or not select.select([self._master], [], [], left_s)[0]:
                break
            try:
                fresh = os.read(self._master, 65536)
            except OSError:
                break  # nobody has the port open
            *lines, self._rest = (self._rest + fresh).split(b"\r")
            for line in lines:
                if line[:1] in b"tTrR" and line:
                    found.append(_frame(line.decode()))
                else:
                    self.commands.append(line)
        return found

    def unplug(self) -> None:
        if self._master >= 0:
            os.close(self._master)
            self._master = -1

    def close(self) -> None:
        self.unplug()


class VirtualFarEnd:
    """Another bus on the same channel of python-can's in-process interface."""

    def __init__(self) -> None:
        self._channel = f"bay-{next(_NUMBERS)}"
        self.bus: Any = can.Bus(interface="virtual", channel=self._channel)

    @property
    def address(self) -> str:
        return f"canbus:virtual/{self._channel}"

    def say(self, frames: Sequence[Frame]) -> None:
        for frame in frames:
            self.bus.send(
                can.Message(
                    arbitration_id=frame.can_id,
                    data=frame.data,
                    is_extended_id=frame.extended,
                    is_remote_frame=frame.kind == "remote",
                )
            )

    def heard(self, count: int, wait_s: float) -> Sequence[Frame]:
        found = []
        while len(found) < count and (message := self.bus.recv(wait_s)) is not None:
            stamp = SystemClock().stamp()
            found.append(Frame(message.arbitration_id, bytes(message.data), stamp, extended=message.is_extended_id))
        return found

    def unplug(self) -> None:
        raise NotPossible("a bus in memory has no plug")

    def close(self) -> None:
        self.bus.shutdown()


def _frame(line: str) -> Frame:
    extended = line[0].isupper()
    digits = 8 if extended else 3
    remote = line[0] in "rR"
    return Frame(
        int(line[1 : 1 + digits], 16),
        b"" if remote else bytes.fromhex(line[2 + digits :]),
        SystemClock().stamp(),
        extended=extended,
        kind="remote" if remote else "data",
    )
