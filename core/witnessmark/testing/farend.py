"""The other end of the wire, as a contract needs it. Whoever proves an adapter right supplies one.

In: what a contract wants said, answered or broken. Out: what arrived. Rules that hold here: a far end never uses the
link under test; it says things that nobody needs to answer; what it cannot do raises `NotPossible` with the reason.
"""

from __future__ import annotations

import unittest
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol, runtime_checkable

from witnessmark.link.frame import Frame, Peer


class NotPossible(unittest.SkipTest):
    """This rule cannot be tried on this wire, and why. Reported, never silent: pytest prints it as a skip."""


class FarEnd(Protocol):
    """What both kinds share. `address` is the text at which the link under test is opened on this wire."""

    @property
    def address(self) -> str: ...

    def unplug(self) -> None:
        """Break the wire as a pulled plug does."""
        ...

    def close(self) -> None:
        """Clean up. May be called twice, and after `unplug`."""
        ...


class FrameFarEnd(FarEnd, Protocol):
    """The other end of a CAN bus."""

    def say(self, frames: Sequence[Frame]) -> None:
        """Put frames on the bus, in order. May block while the bus is full."""
        ...

    def heard(self, count: int, wait_s: float) -> Sequence[Frame]:
        """Return what the link under test has sent since the last call: `count` frames, or fewer after `wait_s`."""
        ...


@runtime_checkable
class Spelling(Protocol):
    """A far end whose wire is a stream of bytes, so that a frame can come in pieces."""

    garbage: bytes
    """Bytes that are no frame, complete in themselves: the frame after them can be read again."""

    def spell(self, frame: Frame) -> bytes:
        """Return the bytes that carry one frame."""
        ...

    def write(self, raw: bytes) -> None:
        """Put raw bytes on the wire."""
        ...


@dataclass(frozen=True, slots=True)
class Reply:
    """How the far end treats the next request.

    `answers` are payloads, in order; none means that it never answers. `late_s` real seconds pass before the first.
    `piece` cuts the bytes of each answer into pieces of that size (0: whole). `noise` are raw bytes put on the wire
    before the answer. `cut_after` unplugs after that many bytes of the first answer.
    """

    answers: tuple[bytes, ...] = ()
    late_s: float = 0.0
    piece: int = 0
    noise: bytes = b""
    cut_after: int | None = None


class MessageFarEnd(FarEnd, Protocol):
    """A control unit that answers whole messages as told. It may run a thread of its own."""

    peer: Peer
    streamed: bool
    """Whether `piece`, `noise` and `cut_after` of a reply can be done on this wire."""
    garbage: bytes
    """Bytes that are no answer, for `Reply.noise`; empty where not streamed."""

    def reply_with(self, *replies: Reply) -> None:
        """Treat the next requests so, one reply each, then never answer."""
        ...

    def requests(self, count: int, wait_s: float) -> Sequence[bytes]:
        """Return the payloads heard since the last call: `count` of them, or fewer after `wait_s`."""
        ...
