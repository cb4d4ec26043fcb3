"""The line between a face and the runner: JSON lines both ways, and one byte that stops.

Bytes flow in, commands and the wish to stop flow out. Rules that hold here: the stop byte counts wherever it stands, in
the middle of a line too, and JSON text never holds it; sending never waits, so a face that reads nothing delays
nobody; end of file says that the face is gone.
"""

from __future__ import annotations

import socket
from dataclasses import dataclass, field
from typing import Any

import msgspec

STOP = b"\x18"
"""The character CANCEL."""
LONGEST_LINE = 65_536
MOST_WAITING = 262_144


@dataclass(frozen=True, slots=True)
class Heard:
    """What one read gave: `commands` are objects, `garbled` lines that are none."""

    stop: bool = False
    gone: bool = False
    commands: tuple[dict[str, Any], ...] = ()
    garbled: int = 0


@dataclass(slots=True)
class Lines:
    """Takes bytes, gives lines: sans-IO. `partial` is a line that has no end yet."""

    partial: bytes = b""
    too_long: bool = field(default=False)

    def take(self, data: bytes) -> Heard:
        """Return what `data` completes."""
        stop = STOP in data
        *whole, rest = (self.partial + data.replace(STOP, b"")).split(b"\n")
        self.partial = rest[:LONGEST_LINE]
        commands: list[dict[str, Any]] = []
        garbled = int(len(rest) > LONGEST_LINE)
        for line in whole:
            if not line.strip():
                continue
            try:
                commands.append(msgspec.json.decode(line, type=dict[str, Any]))
            except (msgspec.MsgspecError, UnicodeDecodeError):
                garbled += 1
        return Heard(stop, commands=tuple(commands), garbled=garbled)


class FaceLine:
    """The runner's end of the socket."""

    def __init__(self, ours: socket.socket) -> None:
        ours.setblocking(False)
        self._socket = ours
        self._lines = Lines()
        self._out = bytearray()
        self.gone = False

    def fileno(self) -> int:
        return self._socket.fileno()

    @property
    def wants_to_write(self) -> bool:
        return bool(self._out) and not self.gone

    def read(self) -> Heard:
        """Return what has come; never waits."""
        data = b""
        while not self.gone:
            try:
                more = self._socket.recv(65_536)
            except BlockingIOError:
                break
            except OSError:
                more = b""
            if not more:
                self.gone = True
            data += more
        heard = self._lines.take(data)
        return Heard(heard.stop, self.gone, heard.commands, heard.garbled)

    def tell(self, message: dict[str, object]) -> None:
        """Send one object; what a face does not take in time is dropped, oldest kept."""
        line = msgspec.json.encode(message) + b"\n"
        if self.gone or len(self._out) + len(line) > MOST_WAITING:
            return
        self._out += line
        self.flush()

    def flush(self) -> None:
        """Send what waits, as far as the face takes it."""
        while self._out and not self.gone:
            try:
                sent = self._socket.send(self._out)
            except BlockingIOError:
                return
            except OSError:
                self.gone = True
                return
            del self._out[:sent]

    def close(self) -> None:
        self._socket.close()
