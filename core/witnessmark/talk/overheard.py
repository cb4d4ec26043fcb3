"""Another tester on identifiers that nobody named: known by its requests being answered.

Frames that are neither ours nor a known unit's flow in, the request of another tester flows out. Rules that hold here:
one frame alone proves nothing, since ordinary traffic may look like anything; a request and its answer do, of one
frame each or the beginning of more: the answer comes on another identifier, soon, repeats the service, and the
sub-function or identifier that was asked for (ISO 14229-1:2020, 8.2 to 8.4), or refuses that very service; what is
left of a frame is filled as testers and units fill it.
"""

from __future__ import annotations

from witnessmark.clock import NS
from witnessmark.errors import PeerError
from witnessmark.link.frame import Frame
from witnessmark.talk.exchange import fits
from witnessmark.wire.isotp.pdu import FirstFrame, SingleFrame, parse
from witnessmark.wire.uds.codes import ResponseCode
from witnessmark.wire.uds.head import head
from witnessmark.wire.uds.services import NEGATIVE_RESPONSE, POSITIVE_OFFSET, Service

SOON_NS = NS
"""P2 and as long again as a slow gateway takes. Common practice, no source."""
SERVICES = frozenset((*map(int, Service), 0x1A, 0x21, 0x3B))
"""Those of ISO 14229-1, and of ISO 14230-3 the reads and the write by local identifier."""
CODES = frozenset(map(int, ResponseCode))
SHORT = 5
FILLED = (0x00, 0x55, 0xAA, 0xCC, 0xFF)
"""What a frame is filled with behind its message. Common practice, but for CC (ISO 15765-2:2016, 10.4.2.1)."""


MOST = 64
Asked = dict[tuple[int, bool, bytes], tuple[Frame, bytes]]


class Overheard:
    """Remembers what was asked a moment ago, by service; what is asked again takes the place of the last."""

    def __init__(self) -> None:
        self._asked: dict[int, Asked] = {}

    def hear(self, frame: Frame) -> Frame | None:
        """Take in a frame; return the frame of the request that it answers, if it answers one."""
        data = frame.data
        if len(data) < 3 or data[0] >> 4 > 1:
            return None
        first = data[1] if data[0] >> 4 == 0 else data[2]
        if first in SERVICES:
            self._ask(frame)
            return None
        service = data[2] if first == NEGATIVE_RESPONSE else first - POSITIVE_OFFSET
        asked = self._asked.get(service)
        return self._answered(frame, asked) if asked else None

    def _ask(self, frame: Frame) -> None:
        payload = _beginning(frame.data)
        if payload is None:
            return
        asked = self._asked.setdefault(payload[0], {})
        asked.pop(key := (frame.can_id, frame.extended, payload[:4]), None)
        asked[key] = frame, payload
        if len(asked) > MOST:
            del asked[next(iter(asked))]

    def _answered(self, frame: Frame, asked: Asked) -> Frame | None:
        answer = _beginning(frame.data)
        if answer is None or (answer[0] == NEGATIVE_RESPONSE and (len(answer) != 3 or answer[2] not in CODES)):
            return None
        for key, (request, payload) in list(asked.items()):
            if frame.stamp.mono_ns - request.stamp.mono_ns > SOON_NS:
                del asked[key]
            elif request.extended == frame.extended and request.can_id != frame.can_id and _fits(payload, answer):
                return request
        return None


def _beginning(data: bytes) -> bytes | None:
    """Return the bytes of a message that its first frame holds; None for any other frame, or one filled by chance."""
    try:
        pdu = parse(data)
    except PeerError:
        return None
    if isinstance(pdu, FirstFrame):
        return pdu.payload
    if not isinstance(pdu, SingleFrame):
        return None
    rest = set(data[1 + len(pdu.payload) :])
    return pdu.payload if not rest or (len(rest) == 1 and rest <= set(FILLED)) else None


def _fits(request: bytes, answer: bytes) -> bool:
    """Whether an answer repeats what was asked, or refuses it.

    One that repeats the service alone proves little, and one byte more only that of a short request: as many testers
    send, and noise hardly ever is.
    """
    try:
        asked = head(request)
        told = answer[0] == NEGATIVE_RESPONSE or asked.identifier is not None
        told = told or (asked.sub_function is not None and len(request) <= SHORT and len(answer) > 1)
        return told and fits(request, answer)
    except PeerError:
        return False
