"""The head of a diagnostic message: what pairing needs, read in a microsecond and without layouts.

A payload flows in, a `Head` flows out. Only bytes that cannot be read at all raise; a message that ends early simply
has no identifier or sub-function.
"""

from __future__ import annotations

from typing import NamedTuple

from witnessmark.errors import PeerError
from witnessmark.wire.uds.services import WITH_SUB_FUNCTION


class Head(NamedTuple):
    """The facts by which requests and answers are matched. `service` is always the request's number."""

    service: int
    is_response: bool = False
    negative: bool = False
    sub_function: int | None = None
    suppress: bool = False
    identifier: int | None = None
    response_code: int | None = None


_SUB = 1
_TWO_BYTES = 2
_SUB_AND_TWO_BYTES = 3
_ONE_BYTE = 4

_SHAPE = bytearray(256)
for _service in WITH_SUB_FUNCTION:
    _SHAPE[_service] = _SUB
for _service in (0x22, 0x24, 0x2E, 0x2F):
    _SHAPE[_service] = _TWO_BYTES
for _service in (0x2C, 0x31):
    _SHAPE[_service] = _SUB_AND_TWO_BYTES
# Numbers that ISO 14229-1 leaves to others, whose second byte says what is asked: ISO 15031-5 modes with a
# parameter (a PID, a test, an information type), and ISO 14230-3 reads by local identifier.
for _service in (0x01, 0x02, 0x05, 0x06, 0x08, 0x09, 0x1A, 0x21, 0x3B):
    _SHAPE[_service] = _ONE_BYTE
for _service in range(0xC0):
    # Bit 6 marks an answer (0x7F apart): it is read like its request.
    if _service & 0x40 == 0 and _SHAPE[_service]:
        _SHAPE[_service | 0x40] = _SHAPE[_service]
_SHAPES = bytes(_SHAPE)


def head(payload: bytes) -> Head:
    """Read the head of one whole diagnostic message.

    Raises PeerError with reason `empty` (no byte) or `short_negative` (0x7F without service or code).
    Source: ISO 14229-1:2020, clauses 8.2 to 8.4.
    """
    if not payload:
        raise PeerError("A diagnostic message without a byte.", reason="empty", raw=bytes(payload))
    first = payload[0]
    size = len(payload)
    if first == 0x7F:
        if size < 3:
            raise PeerError("A negative answer without its response code.", reason="short_negative", raw=bytes(payload))
        return Head(payload[1], True, True, None, False, None, payload[2])
    response = first & 0x40 != 0
    service = first & 0xBF
    shape = _SHAPES[first]
    if shape == 0 or size < 2:
        return Head(service, response)
    second = payload[1]
    if shape == _SUB:
        return Head(service, response, False, second & 0x7F, not response and second >= 0x80)
    if shape == _TWO_BYTES:
        return Head(service, response, False, None, False, (second << 8 | payload[2]) if size > 2 else None)
    if shape == _ONE_BYTE:
        return Head(service, response, False, None, False, second)
    identifier = (payload[2] << 8 | payload[3]) if size > 3 else None
    return Head(service, response, False, second & 0x7F, not response and second >= 0x80, identifier)
