"""What travels over a link: CAN frames, whole diagnostic messages, and events of the interface.

Every one carries a `Stamp`. `origin` keeps an echo of our own sending apart from what another sent: an echo is never
a reply.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from witnessmark.clock import Stamp

Origin = Literal["received", "sent", "echo"]
EventKind = Literal["begun", "accepted", "refused", "lost", "garbled", "bus_error", "bus_off"]


@dataclass(frozen=True, slots=True)
class Frame:
    """One CAN frame. `data` is 0-8 bytes, or up to 64 when `fd`; a remote frame has none."""

    can_id: int
    data: bytes
    stamp: Stamp
    origin: Origin = "received"
    extended: bool = False
    fd: bool = False
    kind: Literal["data", "remote"] = "data"
    channel: str = ""


@dataclass(frozen=True, slots=True)
class Peer:
    """A control unit, named by the pair of addresses it is spoken to with; the same on a request and on its answer.

    `target` is where requests go, `source` where its answers come from: CAN identifiers for ISO 15765-2 normal
    addressing, node addresses for ISO 14230 and ISO 13400. On a functional request `source` is None; the answers to
    it each carry their own `source`. `extended` says that the identifiers have 29 bits.
    """

    target: int
    source: int | None = None
    functional: bool = False
    extended: bool = False


@dataclass(frozen=True, slots=True)
class Message:
    """One whole diagnostic message. `raw` holds the frames or lines it was made of, as they came."""

    peer: Peer
    payload: bytes
    first: Stamp
    last: Stamp
    raw: tuple[bytes, ...] = ()
    origin: Origin = "received"


@dataclass(frozen=True, slots=True)
class Event:
    """Something the interface said that is neither frame nor message.

    `begun`: the first part of an answer was seen (stops P2). `accepted`, `refused`: the interface or gateway took or
    would not take a request; never the control unit's own answer. `lost`: the interface is gone. `garbled`: bytes
    that could not be read, kept in `raw`. `bus_error`, `bus_off`: the CAN controller's state.
    """

    kind: EventKind
    stamp: Stamp
    raw: bytes = b""
    detail: str = ""
    peer: Peer | None = None
