"""Frames over a serial port, one line each: `7E8 0102`. Replace this line with what your interface is.

In: lines, 3 hex digits of identifier (8 and an x for 29 bits), a blank, the data bytes or R. Out: frames. What the
contract asks for stands in comments where it is done.
"""

from __future__ import annotations

import os
import re
import threading
from collections.abc import Sequence

import serial
from serial.tools import list_ports

from witnessmark.plugin import (
    Address,
    Capabilities,
    Clock,
    Doorbell,
    Event,
    Frame,
    FrameLink,
    InputError,
    LinkError,
    LocalError,
    Stamp,
    cannot_open,
    hookimpl,
)

ADDRESS = "example:PORT?baud=115200"
API_VERSION = 1  # the plugin interface this is written for: another host refuses it with a reason
CONTRACT_VERSION = 2  # the contract it was last proven against

LINE = re.compile(rb"([0-9A-F]{3}|[0-9A-F]{8}x) (R|(?:[0-9A-F]{2}){0,8})\Z")


@hookimpl
def open_link(address: Address, clock: Clock, listen_only: bool) -> FrameLink:
    """Open the port. Nothing is sent to the vehicle by opening."""
    address.check_options("baud")  # an option that is misspelt must not be ignored
    baud = address.option("baud", "115200")
    if not address.place or not baud.isdecimal():
        wrong = "it names no port" if not address.place else f"baud={baud} is no number"
        raise InputError(wrong, place=f"address {address}", hint=f"write {ADDRESS}")
    if listen_only:  # what cannot be promised is refused
        raise LocalError("this interface cannot be made to listen only", hint="use one that can")
    try:
        port = serial.Serial(address.place, int(baud), timeout=0, write_timeout=0.25, exclusive=True)
    except (OSError, ValueError) as error:
        raise cannot_open(address.place, error, write=ADDRESS) from error  # each way has its own thing to do
    return ExampleLink(port, clock)


@hookimpl
def find_links() -> Sequence[tuple[Address, str]]:
    """Say what is plugged in, and what only the user can know of it."""
    return [(Address("example", port.device), f"{port.description}, if it is this") for port in list_ports.comports()]


class ExampleLink:
    """One open port."""

    def __init__(self, port: serial.Serial, clock: Clock) -> None:
        self.capabilities = Capabilities(listen="no")
        self._port = port
        self._clock = clock
        self._bell = Doorbell()
        self._lock = threading.RLock()
        self._rest = b""
        self._closed = False
        self._lost: LinkError | None = None

    def fileno(self) -> int | None:
        return int(self._port.fileno())

    def interrupt(self) -> None:
        self._bell.ring()

    def close(self) -> None:
        self._closed = True
        self._bell.ring()
        with self._lock:  # whoever waits has left when this is ours
            self._port.close()
            self._bell.close()

    def send(self, frame: Frame) -> Stamp:
        if self._closed:
            raise LocalError("this link is closed", hint="open it again")
        try:
            self._port.write(write_line(frame))
        except OSError as error:  # it may have left: never say that nothing reached the vehicle
            raise gone(error) from error
        return self._clock.stamp()

    def receive(self, wait_s: float) -> Sequence[Frame | Event]:
        with self._lock:
            if self._closed:
                raise LocalError("this link is closed", hint="open it again")
            if self._lost is not None:
                raise self._lost
            if not self._bell.wait([self._port.fileno()], wait_s):
                return []  # silence
            try:
                fresh = os.read(self._port.fileno(), 65536)  # all that is there, so that the descriptor tells the truth
            except OSError as error:
                return [self._told_lost(error)]
            if not fresh:
                return [self._told_lost(None)]
            stamp = self._clock.stamp()
            *lines, self._rest = (self._rest + fresh).split(b"\n")  # a frame may come in pieces
            return [read_line(line, stamp) for line in lines]

    def _told_lost(self, error: OSError | None) -> Event:
        self._lost = gone(error)
        return Event("lost", self._clock.stamp(), raw=self._rest, detail=self._lost.what)


def read_line(line: bytes, stamp: Stamp) -> Frame | Event:
    """Read one line; what is no frame is kept in a garbled event, never thrown away."""
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


def write_line(frame: Frame) -> bytes:
    """Write a frame as the interface takes it."""
    name = f"{frame.can_id:08X}x" if frame.extended else f"{frame.can_id:03X}"
    return f"{name} {'R' if frame.kind == 'remote' else frame.data.hex().upper()}\n".encode()


def gone(error: OSError | None) -> LinkError:
    """Say that the interface went away."""
    return LinkError(
        "the interface is gone" + (f": {error}" if error else ""),
        kind="gone",
        hint="check the plug; what was running may be running still",
    )
