"""The two ports an adapter may offer, and what it says about itself.

Rules that hold here: silence is an empty sequence; `receive` returns by itself after `wait_s` real seconds; an
unplugged interface is an `Event("lost")` or a LinkError, never silence; a deadline of the conversation lives in the
core, not in the adapter; nothing received is thrown away. One thread uses a link, but for `interrupt`, which any
thread or signal handler may call.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, Protocol, runtime_checkable

from witnessmark.clock import Stamp
from witnessmark.link.frame import Event, Frame, Message, Peer


@dataclass(frozen=True, slots=True)
class Capabilities:
    """What a link can do; the audit and the screens say what it cannot.

    `listen`: can it listen without disturbing: `silent` (not even an acknowledge bit), `acknowledging`, or `no`.
    `stamps`: what a stamp of a received frame is, the moment at which the system had it (`arrived`) or that at which we
    read it (`read`), which may be later by as long as we were held up.
    `live`: is a vehicle, or a practice one, at its other end as it speaks; no job runs on a recording played back.
    `shows_pending`: does it show response code 0x78 or swallow it. `max_payload` in bytes, `min_gap_s` between
    requests, `keepalive_s` the longest the interface itself allows without traffic (None: no limit).
    """

    listen: Literal["silent", "acknowledging", "no"] = "no"
    can_send: bool = True
    stamps: Literal["arrived", "read"] = "read"
    live: bool = True
    half_duplex: bool = False
    device_clock: bool = False
    fd: bool = False
    functional: bool = True
    shows_pending: bool = True
    max_payload: int = 4095
    min_gap_s: float = 0.0
    keepalive_s: float | None = None


class Link(Protocol):
    """What both ports share."""

    @property
    def capabilities(self) -> Capabilities: ...

    def fileno(self) -> int | None:
        """A descriptor to wait on until something can be received. None: the core polls in slices of 5 ms or less."""
        ...

    def interrupt(self) -> None:
        """Drop a pending wait at once so that a stop can leave."""
        ...

    def close(self) -> None:
        """Give the interface back. May be called twice."""
        ...


@runtime_checkable
class FrameLink(Link, Protocol):
    """Carries CAN frames; the core does ISO 15765-2."""

    def send(self, frame: Frame) -> Stamp:
        """Hand one frame to the interface; return when it left. Raises LinkError (`reached` says how far it got)."""
        ...

    def receive(self, wait_s: float) -> Sequence[Frame | Event]:
        """Return what came, after at most `wait_s` real seconds; 0 never waits."""
        ...


@runtime_checkable
class MessageLink(Link, Protocol):
    """Carries whole diagnostic messages; the interface or its protocol does the framing."""

    def wake(self, peer: Peer) -> Sequence[Event]:
        """Do what the protocol needs before the first request to `peer` (initialisation, routing activation)."""
        ...

    def send(self, peer: Peer, payload: bytes) -> Stamp:
        """Hand one request to the interface; return when it left. Raises LinkError (`reached` says how far it got)."""
        ...

    def receive(self, wait_s: float) -> Sequence[Message | Event]:
        """Return what came, after at most `wait_s` real seconds; 0 never waits."""
        ...


@runtime_checkable
class TakesTurns(Protocol):
    """What a link of either port says besides when `send` may have to wait for its interface.

    The core keeps what is not urgent until the link is free, so that no wait stands before a stop.
    """

    def free(self) -> bool:
        """Whether `send` would hand over a request at once. Also once the interface has had its time."""
        ...
