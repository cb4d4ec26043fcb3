"""What passive reading gives: one request and all that answered it, or what was heard without the request.

Rules: a conversation without a request holds one answer whose request was not recorded, or one lost message that cannot
be attributed. A message of which frames are missing is `lost`, never an answer. Silence, and an answer that was not
wanted, are an empty `answers`.
"""

from __future__ import annotations

from dataclasses import dataclass

from witnessmark.errors import PeerError
from witnessmark.recording.line import Line
from witnessmark.wire.isotp.passive import Lost, Message
from witnessmark.wire.isotp.pdu import FirstFrame, parse
from witnessmark.wire.uds.codes import RESPONSE_PENDING
from witnessmark.wire.uds.head import Head, head

NO_HEAD = Head(-1)
"""What stands for bytes that no service can be read from."""


@dataclass(frozen=True, slots=True)
class Conversation:
    """One request and its answers in the order in which they were complete, each 0x78 among them.

    `functional` says that many may answer. Every message's `key` is its `Line`.
    """

    request: Message | None
    answers: tuple[Message, ...] = ()
    lost: tuple[Lost, ...] = ()
    functional: bool = False

    @property
    def first_ns(self) -> int:
        """When the first frame of it was recorded."""
        return min(part.first_ns for part in self.parts())

    @property
    def last_ns(self) -> int:
        """When its last frame was recorded."""
        return max(part.last_ns for part in self.parts())

    @property
    def pending(self) -> int:
        """How often 0x78 was answered."""
        return sum(is_pending(answer.payload) for answer in self.answers)

    @property
    def suppressed(self) -> bool:
        """Whether the request said that no positive answer is wanted (ISO 14229-1, 8.2.2). An answer 50 with bit 7 set
        shows that the bit was part of an ISO 14230-3 mode."""
        if self.request is None or not read_request(self.request.payload).suppress:
            return False
        return not any(answer.payload[:1] == b"\x50" and answer.payload[1:2] >= b"\x80" for answer in self.answers)

    @property
    def frames_lost(self) -> int:
        """How many frames are missing, as far as that can be known."""
        return sum(frames_missing(lost) for lost in self.lost)

    def parts(self) -> tuple[Message | Lost, ...]:
        """All that was heard: request, answers, lost messages."""
        return (*(() if self.request is None else (self.request,)), *self.answers, *self.lost)


def is_pending(payload: bytes) -> bool:
    """Say whether a message is the negative answer 0x78, which another answer follows."""
    return len(payload) >= 3 and payload[0] == 0x7F and payload[2] == RESPONSE_PENDING


def read_head(payload: bytes) -> Head:
    """Return the head of a message, `NO_HEAD` where none can be read."""
    try:
        return head(payload)
    except PeerError:
        return NO_HEAD


def read_request(payload: bytes) -> Head:
    """Return the head of a message of a line that only asks: whatever its first byte is, that is the service."""
    facts = read_head(payload)
    if payload and (facts.is_response or facts.service < 0):
        return Head(payload[0])
    return facts


def begun(lost: Lost) -> bytes:
    """Return the beginning of a lost message, as far as its first frame carried it; nothing where that is missing."""
    if not lost.length:
        return b""
    first = parse(lost.frames[0], ext=lost.ext is not None, fd=True)
    assert isinstance(first, FirstFrame)
    return first.payload


def frames_missing(lost: Lost) -> int:
    """Return how many frames of a message are missing; where its first frame is, that one, which is the least."""
    if not lost.length:
        return 1
    left = lost.length - len(begun(lost))
    place = 0 if lost.ext is None else 1
    needed = -(-left // (len(lost.frames[0]) - place - 1))
    at, missing = len(lost.frames) - 1, 0
    for frame in lost.after:
        skipped = (frame[place] & 0x0F) - at - 1 & 0x0F
        if skipped == 15:
            continue  # the same frame again
        if at + skipped + 1 > needed:
            break  # not of this message
        at, missing = at + skipped + 1, missing + skipped
    return missing + needed - at


def frames_heard(lost: Lost) -> int:
    """Return how many frames of a lost message were heard, those behind the loss among them."""
    return len(lost.frames) + len(lost.after)


def line_of(part: Message | Lost) -> Line:
    """Return who said it."""
    assert isinstance(part.key, Line)
    return part.key
