"""One N_PDU: the data of one CAN frame to its meaning and back. ISO 15765-2:2016, 9.6.

In: the data bytes of a frame. Out: `SingleFrame`, `FirstFrame`, `ConsecutiveFrame` or `FlowControl`. Rules: nothing is
remembered from frame to frame; a frame that the standard tells a receiver to ignore raises `PeerError` with a reason
of its own; padding is not looked at. Bounds that are stated from memory of the standard: the escape forms that were
not needed, and the first frame that would have fitted a single frame.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from typing import NoReturn

from witnessmark.errors import LocalError, PeerError

CAN_LENGTHS = (*range(9), 12, 16, 20, 24, 32, 48, 64)
"""The data lengths a CAN or CAN FD frame can have (ISO 11898-1)."""

CONTINUE, WAIT, OVERFLOW = 0, 1, 2
"""Flow status of a flow control frame (9.6.5.2)."""

MS, US = 1_000_000, 1_000


@dataclass(frozen=True, slots=True)
class SingleFrame:
    """A whole message in one frame (9.6.2)."""

    payload: bytes


@dataclass(frozen=True, slots=True)
class FirstFrame:
    """The beginning of a message of `length` bytes (9.6.3)."""

    length: int
    payload: bytes


@dataclass(frozen=True, slots=True)
class ConsecutiveFrame:
    """A further part, with its sequence number from 0 to 15 (9.6.4). `payload` may end in padding."""

    sequence: int
    payload: bytes


@dataclass(frozen=True, slots=True)
class FlowControl:
    """How the sender may go on (9.6.5). `status` above 2 is reserved: it ends the transmission, so it is kept."""

    status: int
    block_size: int
    st_min: int


Pdu = SingleFrame | FirstFrame | ConsecutiveFrame | FlowControl


def parse(data: bytes, *, ext: bool = False, fd: bool = False) -> Pdu:
    """Return the N_PDU in the data of one frame.

    `ext` says that the first byte is an address (extended and mixed addressing), `fd` that up to 64 bytes are allowed.
    Raises PeerError (reason, raw) for what a receiver has to ignore.
    """
    at = 1 if ext else 0
    size = len(data)
    if size > 8 and not (fd and size in CAN_LENGTHS):
        _refuse("can_length", f"{size} data bytes in one frame", data)
    if size <= at:
        _refuse("empty", "no protocol byte in the frame", data)
    kind = data[at] >> 4
    if kind == 2:
        if size < at + 2:
            _refuse("cf_empty", "a consecutive frame without data", data)
        return ConsecutiveFrame(data[at] & 0x0F, data[at + 1 :])
    if kind == 0:
        return _single(data, at, size)
    if kind == 1:
        return _first(data, at, size)
    if kind == 3:
        if size < at + 3:
            _refuse("fc_short", f"a flow control frame of {size} bytes", data)
        return FlowControl(data[at] & 0x0F, data[at + 1], data[at + 2])
    return _refuse("unknown_pci", f"protocol byte {data[at]:#04x} is reserved", data)


def _single(data: bytes, at: int, size: int) -> SingleFrame:
    length = data[at] & 0x0F
    start = at + 1
    if size > 8:
        if length:
            _refuse("sf_no_escape", f"a single frame of {size} bytes without the escape length", data)
        length = data[at + 1]
        start = at + 2
        if length < 8 - at:
            _refuse("sf_needless_escape", f"a single frame with {length} in the escape length", data)
    if not length:
        _refuse("sf_length_zero", "a single frame of length 0", data)
    if length > size - start:
        _refuse("sf_length", f"a single frame of length {length} with room for {size - start}", data)
    return SingleFrame(data[start : start + length])


def _first(data: bytes, at: int, size: int) -> FirstFrame:
    if size < 8:
        _refuse("ff_short", f"a first frame of {size} bytes", data)
    length = (data[at] & 0x0F) << 8 | data[at + 1]
    start = at + 2
    if not length:
        length = int.from_bytes(data[at + 2 : at + 6], "big")
        start = at + 6
        if length <= 4095:
            _refuse("ff_needless_escape", f"a first frame with {length} in the escape length", data)
    if length <= single_room(size, at):
        _refuse("ff_fits_single", f"a first frame of length {length}, which fits a single frame", data)
    return FirstFrame(length, data[start:])


def _refuse(reason: str, what: str, data: bytes) -> NoReturn:
    raise PeerError(f"{what} (ISO 15765-2, 9.6)", reason=reason, raw=bytes(data))


def single_room(frame_size: int, ext_size: int) -> int:
    """Return how many bytes a single frame of `frame_size` data bytes carries after `ext_size` address bytes."""
    return frame_size - ext_size - (1 if frame_size <= 8 else 2)


def encode(pdu: Pdu, *, prefix: bytes = b"", padding: int | None = None) -> bytes:
    """Return the frame data of an N_PDU, `prefix` (the address byte, or nothing) before it.

    `padding` is the byte that fills up to 8, or None for the shortest frame; above 8 bytes the next length that CAN FD
    has is filled in any case (0xCC where `padding` is None: 10.4.2). Raises LocalError when it fits no frame.
    """
    match pdu:
        case SingleFrame(payload):
            length = len(payload)
            head = bytes((length,)) if len(prefix) + 1 + length <= 8 else bytes((0, length & 0xFF))
        case FirstFrame(length, payload):
            head = (0x1000 | length).to_bytes(2, "big") if length <= 4095 else b"\x10\x00" + length.to_bytes(4, "big")
        case ConsecutiveFrame(sequence, payload):
            head = bytes((0x20 | sequence & 0x0F,))
        case FlowControl(status, block_size, st_min):
            head, payload = bytes((0x30 | status & 0x0F, block_size, st_min)), b""
    return fill(prefix + head + payload, padding)


def fill(data: bytes, padding: int | None) -> bytes:
    """Return `data` filled to a length that a frame can have (see `encode`). Raises LocalError above 64 bytes."""
    size = len(data)
    if size <= 8:
        return data if padding is None else data.ljust(8, bytes((padding,)))
    if size > 64:
        raise LocalError(f"{size} bytes fit no CAN frame", hint="segment the message")
    return data.ljust(CAN_LENGTHS[bisect_left(CAN_LENGTHS, size)], bytes((0xCC if padding is None else padding,)))


def st_min_ns(raw: int) -> int:
    """Return the separation time in ns of an STmin byte; reserved values count as 127 ms (9.6.5.5)."""
    if raw <= 0x7F:
        return raw * MS
    if 0xF1 <= raw <= 0xF9:
        return (raw - 0xF0) * 100 * US
    return 127 * MS
