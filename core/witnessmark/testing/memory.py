"""A frame link and its far end in memory: bytes through a socket pair. The smallest link that keeps every rule.

In: lines such as `7E8 0102` and `18DAF110x 01`, a remote frame as `123 R`. Out: frames. Read it as the example of an
adapter; the core's own tests use it as a bus of two ends.
"""

from __future__ import annotations

import itertools
import re
import select
import socket
import threading
from collections.abc import Sequence

from witnessmark.clock import NS, Clock, Stamp, SystemClock
from witnessmark.errors import InputError, LinkError, LocalError
from witnessmark.link.address import Address
from witnessmark.link.frame import Event, Frame
from witnessmark.link.port import Capabilities
from witnessmark.link.wait import Doorbell

LINE = re.compile(rb"([0-9A-F]{3}|[0-9A-F]{8}x) (R|(?:[0-9A-F]{2}){0,8})\Z")
_WIRES: dict[str, socket.socket] = {}
_TAKEN: set[str] = set()
_NUMBERS = itertools.count(1)


def spell(frame: Frame) -> bytes:
    """Return the line of one frame."""
    can_id = f"{frame.can_id:08X}x" if frame.extended else f"{frame.can_id:03X}"
    return f"{can_id} {'R' if frame.kind == 'remote' else frame.data.hex().upper()}\n".encode()


def read(line: bytes, stamp: Stamp) -> Frame | Event:
    """Read one line; what is no frame is a garbled event with its bytes."""
    match = LINE.match(line)
    if match is None:
        return Event("garbled", stamp, raw=line, detail="no frame")
    name, data = match[1].decode(), match[2].decode()
    return Frame(
        int(name.rstrip("x"), 16),
        b"" if data == "R" else bytes.fromhex(data),
        stamp,
        extended=name.endswith("x"),
        kind="remote" if data == "R" else "data",
    )


class MemoryLink:
    """The link's side. `address` is `memory:N`, as the far end gives it."""

    def __init__(self, address: Address, clock: Clock, listen_only: bool) -> None:
        address.check_options()
        if address.place not in _WIRES:
            raise LinkError(
                f"there is no wire {address.place!r}",
                kind="missing",
                hint="open the far end first",
                reached="nothing",
            )
        if address.place in _TAKEN:
            raise LinkError(
                f"the wire {address.place!r} is in use", kind="busy", hint="close it there first", reached="nothing"
            )
        _TAKEN.add(address.place)
        self._place = address.place
        self.capabilities = Capabilities(listen="silent", can_send=not listen_only)
        self._clock = clock
        self._socket = _WIRES[address.place].dup()
        self._bell = Doorbell()
        self._lock = threading.RLock()
        self._rest = b""
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

    def send(self, frame: Frame) -> Stamp:
        if self._closed or not self.capabilities.can_send:
            why = "closed" if self._closed else "open to listen only"
            raise LocalError(f"the link is {why}", hint="open it to send")
        try:
            self._socket.sendall(spell(frame))
        except OSError as error:
            raise self._gone(error) from error
        return self._clock.stamp()

    def receive(self, wait_s: float) -> Sequence[Frame | Event]:
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
            return [read(line, stamp) for line in lines]

    def _gone(self, error: OSError) -> LinkError:
        return LinkError(f"the wire broke: {error}", kind="gone", hint="lay it again", reached="maybe")


class MemoryFarEnd:
    """The other side."""

    garbage = b"no frame at all\n"

    def __init__(self) -> None:
        self._name = str(next(_NUMBERS))
        self._socket, _WIRES[self._name] = socket.socketpair()
        self._rest = b""

    @property
    def address(self) -> str:
        return f"memory:{self._name}"

    def say(self, frames: Sequence[Frame]) -> None:
        self.write(b"".join(spell(one) for one in frames))

    def spell(self, frame: Frame) -> bytes:
        return spell(frame)

    def write(self, raw: bytes) -> None:
        self._socket.sendall(raw)

    def heard(self, count: int, wait_s: float) -> Sequence[Frame]:
        found: list[Frame] = []
        clock = SystemClock()
        end_ns = clock.mono_ns() + round(wait_s * NS)
        while len(found) < count:
            left_s = (end_ns - clock.mono_ns()) / NS
            if left_s <= 0 or not select.select([self._socket], [], [], left_s)[0]:
                break
            *lines, self._rest = (self._rest + self._socket.recv(65536)).split(b"\n")
            found += [one for line in lines if isinstance(one := read(line, clock.stamp()), Frame)]
        return found

    def unplug(self) -> None:
        _WIRES.pop(self._name).close()
        self._socket.close()

    def close(self) -> None:
        held = _WIRES.pop(self._name, None)
        if held is not None:
            held.close()
        self._socket.close()


def open_link(address: Address, clock: Clock, listen_only: bool) -> MemoryLink:
    """Open the link's side of a wire. Raises LinkError `missing` where no far end laid one."""
    if address.scheme != "memory":
        raise InputError(f"{address.scheme!r} is not memory", place=f"address {address}", hint="write memory:N")
    return MemoryLink(address, clock, listen_only)
