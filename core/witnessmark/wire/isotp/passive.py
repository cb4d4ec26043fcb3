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
   a. more than `gap_ns` after the message's frame before: the message is Lost `gap`; with another sequence number than
      the one expected the frame is of another message, and Lost `no_first_frame`;
   b. longer than the first frame, or shorter while more is missing than it carries: ignored as `cf_length`;
   c. not the sequence number expected: the message is Lost `wrong_sn`. Nothing is spliced;
   d. otherwise appended; when nothing is missing any more, the message is a Message, cut to its length.
   Otherwise in a, and in c, the frame goes to what came `after` that loss.
5. A consecutive frame while no message is open goes to what came `after` the latest loss of the stream, when it comes
   within `gap_ns` of the frame before or its sequence number follows that frame's; otherwise it is Lost
   `no_first_frame` (length 0, this frame). A loss takes what comes up to the next first or single frame of the stream;
   one interrupted by a single frame within `gap_ns` up to the next but one, because that frame stands in its midst; at
   most `MOST_AFTER` frames, others are ignored as `stray`.
6. `finish` ends open messages in the order in which they began: as Lost `gap` when the recording went on for more than
   `gap_ns`, as Lost `incomplete` when it did not, or when its end is not known.

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

LossReason = Literal[
    "interrupted_by_sf", "interrupted_by_ff", "wrong_sn", "gap", "no_first_frame", "incomplete", "overflow"
]
"""`overflow` is not told here, where flow control is not read: whoever knows the receiver's line may say it."""

GAP_NS = 1_000_000_000
"""N_Cr (ISO 15765-2:2016, 9.8.2): after it the receiver has given up. Wider for a bus whose receivers say WAIT."""
MOST_AFTER = 600
"""So many consecutive frames of a lost message are kept; 4095 bytes have 585."""


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
    """A message of which frames are missing. `length` is what its first frame promised, 0 where there was none.

    `after` are the consecutive frames heard behind the loss. It grows until the stream's next message begins.
    """

    key: Hashable
    reason: LossReason
    length: int
    first_ns: int
    last_ns: int
    frames: tuple[bytes, ...]
    ext: int | None = None
    after: list[bytes] = field(default_factory=list)


@dataclass(slots=True)
class _Stray:
    after: list[bytes]
    last_ns: int
    sequence: int


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
    _stray: dict[_Stream, _Stray] = field(default_factory=dict)
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
            self._stray.pop(stream, None)
        if stream in self._open:
            told.append(self._interrupt(stream, pdu, stamp_ns))
        if isinstance(pdu, SingleFrame):
            told.append(Message(key, pdu.payload, stamp_ns, stamp_ns, (data,), stream[1]))
        else:
            self._begin(stream, pdu, data, stamp_ns)
        return told

    def finish(self, end_ns: int | None = None) -> list[Lost]:
        """End the recording, whose last frame was stamped `end_ns`: return the messages that are still open as lost,
        and forget every stream."""
        told: list[Lost] = []
        for stream, message in list(self._open.items()):
            went_on = end_ns is not None and end_ns - message.last_ns > self.gap_ns
            told.append(self._lose(stream, "gap" if went_on else "incomplete"))
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
            return self._stray_frame(stream, pdu, data, stamp_ns)
        if stamp_ns - message.last_ns > self.gap_ns:
            if pdu.sequence != message.expected:
                return (self._lose(stream, "gap"), self._orphan(stream, pdu, data, stamp_ns))
            return (self._break(stream, "gap", pdu, data, stamp_ns),)
        carried = len(pdu.payload)
        if len(data) > message.rx_dl or (len(data) < message.rx_dl and carried < message.missing):
            return self._ignore(stream[0], "cf_length")
        if pdu.sequence != message.expected:
            return (self._break(stream, "wrong_sn", pdu, data, stamp_ns),)
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

    def _interrupt(self, stream: _Stream, pdu: SingleFrame | FirstFrame, stamp_ns: int) -> Lost:
        message = self._open[stream]
        lost = self._lose(stream, "interrupted_by_sf" if isinstance(pdu, SingleFrame) else "interrupted_by_ff")
        if isinstance(pdu, SingleFrame) and stamp_ns - message.last_ns <= self.gap_ns:
            self._stray[stream] = _Stray(lost.after, message.last_ns, message.expected - 1 & 0x0F)
        return lost

    def _break(self, stream: _Stream, reason: LossReason, pdu: ConsecutiveFrame, data: bytes, stamp_ns: int) -> Lost:
        lost = self._lose(stream, reason)
        lost.after.append(data)
        self._stray[stream] = _Stray(lost.after, stamp_ns, pdu.sequence)
        return lost

    def _stray_frame(
        self, stream: _Stream, pdu: ConsecutiveFrame, data: bytes, stamp_ns: int
    ) -> Sequence[Message | Lost]:
        stray = self._stray.get(stream)
        if stray is not None:
            follows = pdu.sequence == stray.sequence + 1 & 0x0F
            if follows or stamp_ns - stray.last_ns <= self.gap_ns:
                stray.last_ns, stray.sequence = stamp_ns, pdu.sequence
                if len(stray.after) >= MOST_AFTER:
                    return self._ignore(stream[0], "stray")
                stray.after.append(data)
                return ()
        return (self._orphan(stream, pdu, data, stamp_ns),)

    def _orphan(self, stream: _Stream, pdu: ConsecutiveFrame, data: bytes, stamp_ns: int) -> Lost:
        lost = Lost(stream[0], "no_first_frame", 0, stamp_ns, stamp_ns, (data,), stream[1])
        self._stray[stream] = _Stray(lost.after, stamp_ns, pdu.sequence)
        return lost

    def _lose(self, stream: _Stream, reason: LossReason) -> Lost:
        message = self._open.pop(stream)
        frames = tuple(message.frames)
        return Lost(stream[0], reason, message.length, message.first_ns, message.last_ns, frames, stream[1])

    def _ignore(self, key: Hashable, reason: str) -> tuple[()]:
        self._ignored.setdefault(key, Counter())[reason] += 1
        return ()
