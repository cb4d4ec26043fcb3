"""The line between a face and the runner: JSON lines both ways, and one byte that stops.

Bytes flow in, commands and the wish to stop flow out. Rules that hold here: the stop byte counts wherever it stands, in
the middle of a line too, and JSON text never holds it; sending never waits, so a face that reads nothing delays
nobody; end of file says that the face is gone.

UTF-8 JSON objects, one a line, both ways; and the single byte 0x18 from the face, anywhere, for stop.

Face to runner (`view` is the id of the view that is answered; any other is refused, so that nothing acts twice):

    {"do": "key", "view": ID, "key": "y", "said": "...", "by": "ID"}        by: another person than is signed on
    {"do": "reading", "view": ID, "value": "2.1", "unit": "bar", "instrument": "..."}
    {"do": "answers", "view": ID, "answers": {"mounted": true}}             arms when all are yes; with `opened`
                    alone, or with what was asked before it: the nipple is recorded as open, the rest is asked on
    {"do": "start", "view": ID}                                             the same as key s of an armed view
    {"do": "pause", "why": "..."}   {"do": "abandon", "why": "..."}
    {"do": "say", "what": "empty" | "refill" | "note", "said": "..."}       at any time but while it runs
    {"do": "hands"}                                                         the next person's who is signed on
    {"do": "leave"}                                                         then end of file: it was left, not lost
    {"do": "view"}                                                          send the view again

Runner to face:

    {"view": {...}}                                                         see `view.View`
    {"run": {"state": "...", "elapsed_s": "3.2", "of_s": "8"}}              about five a second
                    state: recording, session, counting, start sent, running, stop sent; at the end stop confirmed,
                    nothing sent, the control unit refused or unknown, with "result" and, where the time was not
                    up, "why"; heard running while another tester's run is heard
    {"cue": 3}                                                              counted down aloud; 0 is now
    {"said": "..."}                                                         worth showing, asks for nothing
    {"error": {"what": "...", "hint": "...", "reached": "nothing" | "maybe" | "all", "rule": "..."}}
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
        self._deaf = False
        self.gone = False

    def fileno(self) -> int:
        return self._socket.fileno()

    @property
    def wants_to_write(self) -> bool:
        return bool(self._out) and not self._deaf

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
        """Send one object; what a face does not take in time is dropped, oldest kept.

        A face that says nothing any more may still listen: it is told how what ran has ended.
        """
        line = msgspec.json.encode(message) + b"\n"
        if self._deaf or len(self._out) + len(line) > MOST_WAITING:
            return
        self._out += line
        self.flush()

    def flush(self) -> None:
        """Send what waits, as far as the face takes it."""
        while self._out and not self._deaf:
            try:
                sent = self._socket.send(self._out)
            except BlockingIOError:
                return
            except OSError:
                self._deaf = self.gone = True
                return
            del self._out[:sent]

    def close(self) -> None:
        self._socket.close()
