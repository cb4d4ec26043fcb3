"""A message link and a control unit in memory: the smallest message link that keeps every rule.

In: lines such as `10>F1 62F190`, from whom, to whom, payload. Out: messages. The far end plays the unit on a thread of
its own and answers as told.
"""

from __future__ import annotations

import itertools
import re
import socket
import threading
from collections.abc import Sequence

from witnessmark.clock import Clock, Stamp
from witnessmark.errors import InputError, LinkError, LocalError
from witnessmark.link.address import Address
from witnessmark.link.frame import Event, Message, Peer
from witnessmark.link.port import Capabilities
from witnessmark.link.wait import Doorbell
from witnessmark.testing.script import Script, pieces
from witnessmark.testing.verdict import pause

LINE = re.compile(rb"([0-9A-F]{2})>([0-9A-F]{2}) ((?:[0-9A-F]{2})+)\Z")
TESTER = 0xF1
_WIRES: dict[str, socket.socket] = {}
_TAKEN: set[str] = set()
_NUMBERS = itertools.count(1)


def spell(source: int, target: int, payload: bytes) -> bytes:
    """Return the line of one message."""
    return f"{source:02X}>{target:02X} {payload.hex().upper()}\n".encode()


class MemoryMessageLink:
    """The tester's side. `address` is `memory-messages:N`, as the far end gives it."""

    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        address.check_options()
        if address.place not in _WIRES:
            raise LinkError(
                f"there is no wire {address.place!r}", kind="missing", hint="open the far end first", reached="nothing"
            )
        if address.place in _TAKEN:
            raise LinkError(
                f"the wire {address.place!r} is in use", kind="busy", hint="close it there first", reached="nothing"
            )
        _TAKEN.add(address.place)
        self._place = address.place
        self.capabilities = Capabilities(listen="silent", can_send=not listen_only, max_payload=255)
        self._clock = clock
        self._socket = _WIRES[address.place].dup()
        self._bell = Doorbell()
        self._lock = threading.RLock()
        self._rest = b""
        self._first: Stamp | None = None
        self._closed = False

    def fileno(self) -> int | None:
        return self._socket.fileno()

    def interrupt(self) -> None:
        self._bell.ring()

    def close(self) -> None:
        self._closed = True
        self._bell.ring()
        with self._lock:  # whoever waits has left when this is ours
            self._socket.close()
            self._bell.close()
            _TAKEN.discard(self._place)

    def wake(self, peer: Peer) -> Sequence[Event]:
        return []

    def send(self, peer: Peer, payload: bytes) -> Stamp:
        if self._closed or not self.capabilities.can_send:
            why = "closed" if self._closed else "open to listen only"
            raise LocalError(f"the link is {why}", hint="open it to send")
        if len(payload) > self.capabilities.max_payload:
            raise LocalError(f"{len(payload)} bytes are too many", hint=f"at most {self.capabilities.max_payload}")
        try:
            self._socket.sendall(spell(TESTER, peer.target, payload))
        except OSError as error:
            raise self._gone(error) from error
        return self._clock.stamp()

    def receive(self, wait_s: float) -> Sequence[Message | Event]:
        with self._lock:
            if self._closed:
                raise LocalError("the link is closed", hint="open it again")
            if not self._bell.wait([self._socket.fileno()], wait_s):
                return []
            try:
                fresh = self._socket.recv(65536)
            except OSError as error:
                raise self._gone(error) from error
            stamp = self._clock.stamp()
            if not fresh:
                rest, self._rest = self._rest, b""
                return [Event("lost", stamp, raw=rest, detail="the far end is gone")]
            *lines, self._rest = (self._rest + fresh).split(b"\n")
            return [self.read(line, stamp) for line in lines]

    def read(self, line: bytes, stamp: Stamp) -> Message | Event:
        """Read one line; what is no message is a garbled event with its bytes."""
        match = LINE.match(line)
        if match is None:
            return Event("garbled", stamp, raw=line, detail="no message")
        source, target = int(match[1], 16), int(match[2], 16)
        if source == TESTER:
            return Message(Peer(target, source), bytes.fromhex(match[3].decode()), stamp, stamp, (line,), "echo")
        return Message(Peer(source, source), bytes.fromhex(match[3].decode()), stamp, stamp, (line,))

    def _gone(self, error: OSError) -> LinkError:
        return LinkError(f"the wire broke: {error}", kind="gone", hint="lay it again", reached="maybe")


class MemoryUnit:
    """The control unit's side: address 10, answers as told."""

    peer = Peer(0x10, 0x10)
    streamed = True
    garbage = b"no message at all\n"

    def __init__(self, echoes: bool = True) -> None:
        self._name = str(next(_NUMBERS))
        self._socket, _WIRES[self._name] = socket.socketpair()
        self._echoes = echoes
        self._script = Script()
        self.reply_with, self.requests = self._script.reply_with, self._script.requests
        self._thread = threading.Thread(target=self._answer, name="memory unit", daemon=True)
        self._thread.start()

    @property
    def address(self) -> str:
        return f"memory-messages:{self._name}"

    def unplug(self) -> None:
        held = _WIRES.pop(self._name, None)
        if held is not None:
            held.close()
        try:
            self._socket.shutdown(socket.SHUT_RDWR)
        except OSError:
            return  # the other side went first

    def close(self) -> None:
        self.unplug()
        if threading.current_thread() is not self._thread:
            self._thread.join()
        self._socket.close()

    def _answer(self) -> None:
        rest = b""
        while True:
            try:
                fresh = self._socket.recv(65536)
                if not fresh:
                    return
                *lines, rest = (rest + fresh).split(b"\n")
                for line in lines:
                    self._answer_one(line)
            except OSError:
                return  # unplugged

    def _answer_one(self, line: bytes) -> None:
        match = LINE.match(line)
        if match is None:
            return
        if self._echoes:
            self._socket.sendall(line + b"\n")
        reply = self._script.hear(bytes.fromhex(match[3].decode()))
        if reply.late_s:
            pause(reply.late_s)
        for number, payload in enumerate(reply.answers):
            spelt = spell(self.peer.target, TESTER, payload)
            if number == 0 and reply.noise:
                self._socket.sendall(reply.noise)
            if number == 0 and reply.cut_after is not None:
                self._socket.sendall(spelt[: reply.cut_after])
                self.unplug()
                return
            for piece in pieces(spelt, reply):
                self._socket.sendall(piece)
                if reply.piece:
                    pause(0.001)


def open_link(address: Address, clock: Clock, listen_only: bool) -> MemoryMessageLink:
    """Open the tester's side of a wire. Raises LinkError `missing` where no far end laid one."""
    if address.scheme != "memory-messages":
        raise InputError(
            f"{address.scheme!r} is not memory-messages", place=f"address {address}", hint="write memory-messages:N"
        )
    return MemoryMessageLink(address, clock, listen_only)


__all__ = ["MemoryMessageLink", "MemoryUnit", "open_link", "spell"]
