"""Reassembly by listening alone: frames of others in, whole messages and losses out, no flow control needed.

In: any hashable key that names one sender (identifier, channel), the frame's data, its stamp in ns. Out: `Message` and
`Lost`, each with its raw frames. Any number of senders may interleave. These rules are exact; a faster path has to come
to the same results:

1. A stream is a key, together with the address byte when `ext` is set. Streams know nothing of each other.
2. A frame that `pdu.parse` refuses, and flow control, changes nothing; `ignored` counts it under its reason
   (`flow_control` for the latter).
3. A single frame is a Message at once. A first frame opens a message. Either ends an open one first, as
   Lost `interrupted_by_sf` or `interrupted_by_ff`.
4. A consecutive frame while a message is open:
   a. more than `gap_ns` after the message's frame before: the message is Lost `gap`, the stream is stray;
   b. longer than the first frame, or shorter while more is missing than it carries: ignored as `cf_length`;
   c. not the sequence number expected: the message is Lost `wrong_sn`, the stream is stray. Nothing is spliced;
   d. otherwise appended; when nothing is missing any more, the message is a Message, cut to its length.
   In a and c the frame is the first of the stray ones and is not told a second time.
5. A consecutive frame while no message is open: Lost `no_first_frame` (length 0, this frame) when the stream was not
   stray, and the stream is stray until its next single or first frame; otherwise ignored as `stray`.
6. `finish` ends open messages as Lost `incomplete`, in the order in which they began.

The lost message is told at the frame that shows the loss. What cannot be seen: a loss that leaves sequence number,
length and gap as they should be.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field
from typing import Literal

from witnessmark.errors import PeerError
from witnessmark.wire.isotp.pdu import ConsecutiveFrame, FirstFrame, FlowControl, SingleFrame, parse

LossReason = Literal["interrupted_by_sf", "interrupted_by_ff", "wrong_sn", "gap", "no_first_frame", "incomplete"]

GAP_NS = 1_000_000_000
"""N_Cr (ISO 15765-2:2016, 9.8.2): after it the receiver has given up. Wider for a bus whose receivers say WAIT."""


@dataclass(frozen=True, slots=True)
class Message:
    """A whole message of one sender. `ext` is the address byte of its frames, where there is one."""

    key: Hashable
    payload: bytes
    first_ns: int
    last_ns: int
    frames: tuple[bytes, ...]
    ext: int | None = None


@dataclass(frozen=True, slots=True)
class Lost:
    """A message of which frames are missing. `length` is what its first frame promised, 0 where there was none."""

    key: Hashable
    reason: LossReason
    length: int
    first_ns: int
    last_ns: int
    frames: tuple[bytes, ...]
    ext: int | None = None


@dataclass(slots=True)
class _Open:
    length: int
    missing: int
    rx_dl: int
    first_ns: int
    last_ns: int
    parts: list[bytes]
    frames: list[bytes]
    expected: int = 1


_Stream = tuple[Hashable, int | None]


@dataclass(slots=True)
class PassiveReassembler:
    """Reads any number of senders at once. `ext` says that every frame begins with an address byte."""

    ext: bool = False
    gap_ns: int = GAP_NS
    _open: dict[_Stream, _Open] = field(default_factory=dict)
    _stray: set[_Stream] = field(default_factory=set)
    _ignored: dict[Hashable, Counter[str]] = field(default_factory=dict)

    def feed(self, key: Hashable, data: bytes, stamp_ns: int) -> Sequence[Message | Lost]:
        """Let one frame in; return what it completes or shows to be lost, in that order of telling. Never raises."""
        try:
            pdu = parse(data, ext=self.ext, fd=True)
        except PeerError as error:
            return self._ignore(key, error.reason)
        stream = (key, data[0] if self.ext else None)
        if isinstance(pdu, ConsecutiveFrame):
            return self._continue(stream, pdu, data, stamp_ns)
        if isinstance(pdu, FlowControl):
            return self._ignore(key, "flow_control")
        told: list[Message | Lost] = []
        if self._stray:
            self._stray.discard(stream)
        if stream in self._open:
            told.append(
                self._lose(stream, "interrupted_by_sf" if isinstance(pdu, SingleFrame) else "interrupted_by_ff")
            )
        if isinstance(pdu, SingleFrame):
            told.append(Message(key, pdu.payload, stamp_ns, stamp_ns, (data,), stream[1]))
        else:
            self._begin(stream, pdu, data, stamp_ns)
        return told

    def finish(self) -> list[Lost]:
        """End the recording: return the messages that are still open as lost, and forget every stream."""
        told = [self._lose(stream, "incomplete") for stream in list(self._open)]
        self._stray.clear()
        return told

    def ignored(self, key: Hashable) -> Counter[str]:
        """Return how many frames of `key` changed nothing, by reason."""
        return self._ignored.get(key, Counter())

    def _begin(self, stream: _Stream, pdu: FirstFrame, data: bytes, stamp_ns: int) -> None:
        missing = pdu.length - len(pdu.payload)
        self._open[stream] = _Open(pdu.length, missing, len(data), stamp_ns, stamp_ns, [pdu.payload], [data])

    def _continue(self, stream: _Stream, pdu: ConsecutiveFrame, data: bytes, stamp_ns: int) -> Sequence[Message | Lost]:
        message = self._open.get(stream)
        if message is None:
            if stream in self._stray:
                return self._ignore(stream[0], "stray")
            self._stray.add(stream)
            return (Lost(stream[0], "no_first_frame", 0, stamp_ns, stamp_ns, (data,), stream[1]),)
        if stamp_ns - message.last_ns > self.gap_ns:
            self._stray.add(stream)
            return (self._lose(stream, "gap"),)
        carried = len(pdu.payload)
        if len(data) > message.rx_dl or (len(data) < message.rx_dl and carried < message.missing):
            return self._ignore(stream[0], "cf_length")
        if pdu.sequence != message.expected:
            self._stray.add(stream)
            return (self._lose(stream, "wrong_sn"),)
        message.parts.append(pdu.payload)
        message.frames.append(data)
        message.last_ns = stamp_ns
        message.expected = (message.expected + 1) & 0x0F
        message.missing -= carried
        if message.missing > 0:
            return ()
        del self._open[stream]
        payload = b"".join(message.parts)[: message.length]
        return (Message(stream[0], payload, message.first_ns, stamp_ns, tuple(message.frames), stream[1]),)

    def _lose(self, stream: _Stream, reason: LossReason) -> Lost:
        message = self._open.pop(stream)
        frames = tuple(message.frames)
        return Lost(stream[0], reason, message.length, message.first_ns, message.last_ns, frames, stream[1])

    def _ignore(self, key: Hashable, reason: str) -> tuple[()]:
        self._ignored.setdefault(key, Counter())[reason] += 1
        return ()
