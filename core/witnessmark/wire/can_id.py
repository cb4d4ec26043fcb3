"""CAN identifiers that a standard gives a meaning: ISO 15765-4 (emission related) and the 29-bit ones of ISO 15765-2.

In: an identifier and whether it has 29 bits. Out: who it is from and to, and the identifier that answers it. Rules: an
identifier that no standard knows is nobody's (None), never guessed; brake control units usually sit on such ones, and
their addresses come from the map. 18DA and 18DB: ISO 15765-2:2016, 9.7.3; 18CE and 18CD: 9.7.5 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

FUNCTIONAL_11 = 0x7DF
FUNCTIONAL_29 = 0x18DB33F1
REQUESTS_11 = range(0x7E0, 0x7E8)
ANSWERS_11 = range(0x7E8, 0x7F0)
TESTER = 0xF1
"""The source address of external test equipment (ISO 15765-4)."""
TESTERS = range(0xF0, 0xFE)
"""The addresses of external test equipment, of which ISO 15765-4 takes one (SAE J2178-1, from memory)."""

_PHYSICAL_FORMATS = (0xDA, 0xCE)
_FUNCTIONAL_FORMATS = (0xDB, 0xCD)


@dataclass(frozen=True, slots=True)
class FixedId:
    """A 29-bit identifier taken apart. `mixed` says that an address extension is the frame's first data byte."""

    priority: int
    target: int
    source: int
    functional: bool
    mixed: bool


def take_apart(can_id: int) -> FixedId | None:
    """Return the parts of a 29-bit normal fixed or mixed identifier, or None for any other."""
    pdu_format = can_id >> 16 & 0xFF
    if can_id >> 24 & 0x03 or can_id >> 29 or pdu_format not in (*_PHYSICAL_FORMATS, *_FUNCTIONAL_FORMATS):
        return None  # reserved and data page bits are 0
    functional = pdu_format in _FUNCTIONAL_FORMATS
    return FixedId(can_id >> 26, can_id >> 8 & 0xFF, can_id & 0xFF, functional, pdu_format in (0xCE, 0xCD))


def is_functional(can_id: int, extended: bool = False) -> bool:
    """Return whether requests on this identifier go to many units at once."""
    if not extended:
        return can_id == FUNCTIONAL_11
    parts = take_apart(can_id)
    return parts is not None and parts.functional


def is_request(can_id: int, extended: bool = False) -> bool:
    """Return whether an identifier carries requests of test equipment, whatever unit they are for.

    With 11 bits those of ISO 15765-4; with 29 all functional ones, and physical ones from a tester's address.
    """
    if not extended:
        return can_id == FUNCTIONAL_11 or can_id in REQUESTS_11
    parts = take_apart(can_id)
    if parts is None:
        return False
    return parts.functional or (parts.source in TESTERS and parts.target not in TESTERS)


def partner(can_id: int, extended: bool = False) -> int | None:
    """Return the identifier on the other side of the conversation: request to answer, and back.

    None for a functional identifier, which many answer, and for one that no standard pairs.
    """
    if not extended:
        if can_id in REQUESTS_11:
            return can_id + 8
        return can_id - 8 if can_id in ANSWERS_11 else None
    parts = take_apart(can_id)
    if parts is None or parts.functional:
        return None
    return can_id & 0x1FFF_0000 | parts.source << 8 | parts.target


def is_answer_to_functional(request_id: int, can_id: int, extended: bool = False) -> bool:
    """Return whether a message on `can_id` may answer a functional request on `request_id` (same identifier length)."""
    if not extended:
        return request_id == FUNCTIONAL_11 and can_id in ANSWERS_11
    request, answer = take_apart(request_id), take_apart(can_id)
    if request is None or answer is None or not request.functional or answer.functional:
        return False
    return answer.target == request.source and answer.mixed == request.mixed


def standard_requests(extended: bool = False) -> tuple[int, ...]:
    """Return the physical request identifiers of ISO 15765-4 for up to 8 units with 11 bits, or all 256 with 29."""
    if not extended:
        return tuple(REQUESTS_11)
    return tuple(0x18DA0000 | unit << 8 | TESTER for unit in range(0x100))
