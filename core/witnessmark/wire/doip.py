"""DoIP messages of ISO 13400-2: bytes of a stream or a datagram to payloads and back.

In: bytes as they come from a socket or a recording. Out: `Message` for what is right, `Refused` for what breaks the
standard, each with its raw bytes. Rules: a payload of unknown type is a message whose body stays raw; a wrong inverse
version, a body of impossible size and a message beyond our room are three different refusals, each with the code of
the generic negative acknowledge that answers it and whether the connection has to be closed (ISO 13400-2:2019, table
19; from memory). The acknowledge of a diagnostic message (8002) is the gateway's, never the control unit's answer.
"""

from __future__ import annotations

import struct
from dataclasses import astuple, dataclass, fields
from typing import Any

from witnessmark.errors import LocalError, PeerError

PORT = 13400
HEADER = struct.Struct("!BBHI")
VERSION_ANY = 0xFF
"""The version of a vehicle identification request when the vehicle's own is not known yet."""


@dataclass(frozen=True, slots=True)
class NegativeAcknowledge:
    """0000: the header was not taken."""

    code: int


@dataclass(frozen=True, slots=True)
class IdentificationRequest:
    """0001: who is there?"""


@dataclass(frozen=True, slots=True)
class IdentificationRequestEid:
    """0002: are you the entity with this EID (6 bytes)?"""

    eid: bytes


@dataclass(frozen=True, slots=True)
class IdentificationRequestVin:
    """0003: are you in the vehicle with this identification number (17 bytes)?"""

    vin: bytes


@dataclass(frozen=True, slots=True)
class Announcement:
    """0004: announcement, or answer to 0001-0003. All 00 or all FF stands for "not set" in `vin`, `eid`, `gid`."""

    vin: bytes
    logical_address: int
    eid: bytes
    gid: bytes
    further_action: int
    sync_status: int | None = None


@dataclass(frozen=True, slots=True)
class RoutingActivationRequest:
    """0005: let `source` send diagnostic messages on this connection."""

    source: int
    activation_type: int
    reserved: int = 0
    oem: int | None = None


@dataclass(frozen=True, slots=True)
class RoutingActivationResponse:
    """0006: the entity's answer; `code` 10 is success."""

    tester: int
    entity: int
    code: int
    reserved: int = 0
    oem: int | None = None


@dataclass(frozen=True, slots=True)
class AliveCheckRequest:
    """0007: are you still there?"""


@dataclass(frozen=True, slots=True)
class AliveCheckResponse:
    """0008: yes."""

    source: int


@dataclass(frozen=True, slots=True)
class EntityStatusRequest:
    """4001: how many connections are open?"""


@dataclass(frozen=True, slots=True)
class EntityStatusResponse:
    """4002: node type, connections possible and open, longest message."""

    node_type: int
    max_sockets: int
    open_sockets: int
    max_data_size: int | None = None


@dataclass(frozen=True, slots=True)
class PowerModeRequest:
    """4003: is diagnostic power on?"""


@dataclass(frozen=True, slots=True)
class PowerModeResponse:
    """4004: 00 not ready, 01 ready, 02 not supported."""

    mode: int


@dataclass(frozen=True, slots=True)
class DiagnosticMessage:
    """8001: a request or an answer of ISO 14229."""

    source: int
    target: int
    data: bytes


@dataclass(frozen=True, slots=True)
class DiagnosticAck:
    """8002: the gateway took the message; this says nothing about the control unit."""

    source: int
    target: int
    code: int
    previous: bytes = b""


@dataclass(frozen=True, slots=True)
class DiagnosticNack:
    """8003: the gateway did not take the message."""

    source: int
    target: int
    code: int
    previous: bytes = b""


@dataclass(frozen=True, slots=True)
class Unknown:
    """A payload type that is reserved, the maker's own or newer than this reader; the body as it came."""

    payload_type: int
    body: bytes


Payload = (
    NegativeAcknowledge
    | IdentificationRequest
    | IdentificationRequestEid
    | IdentificationRequestVin
    | Announcement
    | RoutingActivationRequest
    | RoutingActivationResponse
    | AliveCheckRequest
    | AliveCheckResponse
    | EntityStatusRequest
    | EntityStatusResponse
    | PowerModeRequest
    | PowerModeResponse
    | DiagnosticMessage
    | DiagnosticAck
    | DiagnosticNack
    | Unknown
)

# Payload type: class, its fields in network byte order, then "?X" for an optional last one or "*" for bytes to the end.
_LAYOUTS: dict[int, tuple[type[Any], str, str]] = {
    0x0000: (NegativeAcknowledge, "B", ""),
    0x0001: (IdentificationRequest, "", ""),
    0x0002: (IdentificationRequestEid, "6s", ""),
    0x0003: (IdentificationRequestVin, "17s", ""),
    0x0004: (Announcement, "17sH6s6sB", "?B"),
    0x0005: (RoutingActivationRequest, "HBI", "?I"),
    0x0006: (RoutingActivationResponse, "HHBI", "?I"),
    0x0007: (AliveCheckRequest, "", ""),
    0x0008: (AliveCheckResponse, "H", ""),
    0x4001: (EntityStatusRequest, "", ""),
    0x4002: (EntityStatusResponse, "BBB", "?I"),
    0x4003: (PowerModeRequest, "", ""),
    0x4004: (PowerModeResponse, "B", ""),
    0x8001: (DiagnosticMessage, "HH", "*"),
    0x8002: (DiagnosticAck, "HHB", "*"),
    0x8003: (DiagnosticNack, "HHB", "*"),
}
_TYPES: dict[type[Any], int] = {cls: payload_type for payload_type, (cls, _, _) in _LAYOUTS.items()}

HEADER_NACKS = {
    0x00: "incorrect pattern format",
    0x01: "unknown payload type",
    0x02: "message too large",
    0x03: "out of memory",
    0x04: "invalid payload length",
}
ACTIVATION_TYPES = {0x00: "default", 0x01: "required by regulation", 0xE0: "central security"}
ACTIVATION_CODES = {
    0x00: "denied: unknown source address",
    0x01: "denied: all connections are in use",
    0x02: "denied: this connection is active for another source address",
    0x03: "denied: this source address is active on another connection",
    0x04: "denied: authentication missing",
    0x05: "denied: confirmation rejected",
    0x06: "denied: activation type not supported",
    0x07: "denied: a secured connection is required",
    0x10: "activated",
    0x11: "activated once confirmed in the vehicle",
}
DIAGNOSTIC_NACKS = {
    0x02: "invalid source address",
    0x03: "unknown target address",
    0x04: "diagnostic message too large",
    0x05: "out of memory",
    0x06: "target unreachable",
    0x07: "unknown network",
    0x08: "transport protocol error",
}
POWER_MODES = {0x00: "not ready", 0x01: "ready", 0x02: "not supported"}


@dataclass(frozen=True, slots=True)
class Message:
    """One message whose header is right. `raw` is all of it."""

    version: int
    payload_type: int
    payload: Payload
    raw: bytes


@dataclass(frozen=True, slots=True)
class Refused:
    """One message that breaks the standard: `inverse_version`, `payload_length` or `too_large`.

    `nack` is the code of the negative acknowledge that answers it, `closes` whether the connection then has to be
    closed. `raw` is all of the message, or its header alone where it was too large to keep.
    """

    reason: str
    nack: int
    closes: bool
    raw: bytes


def payload_type_of(payload: Payload) -> int:
    """Return the payload type that a payload is sent under."""
    return payload.payload_type if isinstance(payload, Unknown) else _TYPES[type(payload)]


def encode(payload: Payload, version: int = 0x02) -> bytes:
    """Return the whole message. Raises LocalError for a value that its field cannot hold."""
    body = payload.body if isinstance(payload, Unknown) else _pack(payload)
    try:
        return HEADER.pack(version, version ^ 0xFF, payload_type_of(payload), len(body)) + body
    except struct.error as error:
        raise LocalError(f"no DoIP header for version {version:#x}: {error}", hint="use a version byte") from error


def _pack(payload: Payload) -> bytes:
    _, fixed, tail = _LAYOUTS[_TYPES[type(payload)]]
    values = list(astuple(payload))
    rest = b""
    if tail == "*":
        rest = values.pop()
    elif tail and values[-1] is None:
        values.pop()
    elif tail:
        fixed += tail[1:]
    for name, value in zip((field.name for field in fields(payload)), values, strict=False):
        wanted = {"vin": 17, "eid": 6, "gid": 6}.get(name)
        if wanted is not None and len(value) != wanted:
            raise LocalError(f"{name} has {len(value)} bytes", hint=f"{name} has {wanted} bytes in ISO 13400-2")
    try:
        return struct.pack("!" + fixed, *values) + rest
    except struct.error as error:
        raise LocalError(f"a value does not fit {type(payload).__name__}: {error}", hint="see ISO 13400-2") from error


def decode_payload(payload_type: int, body: bytes) -> Payload:
    """Return the payload in the body of a message. Raises PeerError `payload_length` when the size cannot be."""
    if payload_type not in _LAYOUTS:
        return Unknown(payload_type, body)
    cls, fixed, tail = _LAYOUTS[payload_type]
    size = struct.calcsize("!" + fixed)
    values: tuple[Any, ...]
    if tail == "*" and len(body) >= size:
        values = (*struct.unpack_from("!" + fixed, body), body[size:])
    elif len(body) == size:
        values = struct.unpack("!" + fixed, body)
    elif tail.startswith("?") and len(body) == struct.calcsize("!" + fixed + tail[1:]):
        values = struct.unpack("!" + fixed + tail[1:], body)
    else:
        raise PeerError(f"a DoIP {cls.__name__} cannot have {len(body)} bytes", reason="payload_length", raw=body)
    payload: Payload = cls(*values)
    return payload


def decode(data: bytes) -> Message:
    """Return the one message of a datagram.

    Raises PeerError with reason `header_short`, `inverse_version`, `datagram_length` (shorter or longer than its
    header says) or `payload_length`, the whole datagram as raw.
    """
    if len(data) < HEADER.size:
        raise PeerError(f"a DoIP header of {len(data)} bytes", reason="header_short", raw=data)
    version, inverse, payload_type, length = HEADER.unpack_from(data)
    if version ^ inverse != 0xFF:
        raise PeerError(f"DoIP version {version:#04x} with inverse {inverse:#04x}", reason="inverse_version", raw=data)
    if len(data) != HEADER.size + length:
        what = f"a DoIP datagram of {len(data)} bytes whose header says {HEADER.size + length}"
        raise PeerError(what, reason="datagram_length", raw=data)
    try:
        return Message(version, payload_type, decode_payload(payload_type, data[HEADER.size :]), data)
    except PeerError as error:
        raise PeerError(error.what, reason=error.reason, raw=data) from error


class Stream:
    """The bytes of one direction of one connection, in any chunks, to messages.

    A refused message is stepped over by the length in its header, so a recording can be read on; a live connection
    has to be closed where `Refused.closes` says so.
    """

    def __init__(self, max_length: int = 1 << 24) -> None:
        self._max_length = max_length
        self._rest = bytearray()
        self._skip = 0

    @property
    def rest(self) -> bytes:
        """The bytes of a message that is not complete yet."""
        return bytes(self._rest)

    def feed(self, data: bytes) -> list[Message | Refused]:
        """Let bytes in; return the messages that are complete now, in order. Never raises."""
        self._rest += data
        found: list[Message | Refused] = []
        while True:
            if self._skip:
                step = min(self._skip, len(self._rest))
                del self._rest[:step]
                self._skip -= step
            if len(self._rest) < HEADER.size:
                return found
            version, inverse, _, length = HEADER.unpack_from(self._rest)
            if length > self._max_length:
                header = bytes(self._rest[: HEADER.size])
                wrong = version ^ inverse != 0xFF
                found.append(
                    Refused("inverse_version", 0, True, header) if wrong else Refused("too_large", 2, False, header)
                )
                self._skip = HEADER.size + length
                continue
            size = HEADER.size + length
            if len(self._rest) < size:
                return found
            raw = bytes(self._rest[:size])
            del self._rest[:size]
            found.append(_read(raw))


def _read(raw: bytes) -> Message | Refused:
    try:
        return decode(raw)
    except PeerError as error:
        nack = 0x00 if error.reason == "inverse_version" else 0x04
        return Refused(error.reason, nack, True, raw)
