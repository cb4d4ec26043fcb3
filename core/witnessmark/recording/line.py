"""Who speaks in a recording: a line is one sender's identifier on one channel.

Rules: an 11-bit and a 29-bit identifier of the same number are different lines. Which lines belong together by standard
is said here; what only a recording can tell is found in `finding`.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

from witnessmark.wire import can_id

Width = Literal[8, 11, 29, 32]
"""11 and 29: CAN identifiers. 8: a node of a K-line, which has one address. 32: ISO 13400, logical source address in
the upper 16 bits, target in the lower."""


NO_TIME_NS = -1
"""The time of a frame whose time was not recorded."""


class Line(NamedTuple):
    """One sender on one channel, or on DoIP one source speaking to one target. `ext` is the address byte of extended
    and mixed addressing, None without."""

    channel: str
    number: int
    width: Width = 11
    ext: int | None = None

    @property
    def name(self) -> str:
        """The identifier as people write it: `7E8`, `18DAF110`, `0E80>1010`; an address byte follows a slash."""
        if self.width == 32:
            return f"{self.number >> 16:04X}>{self.number & 0xFFFF:04X}"
        digits = {8: 2, 11: 3}.get(self.width, 8)
        name = f"{self.number:0{digits}X}"
        return name if self.ext is None else f"{name}/{self.ext:02X}"


def is_legislated(line: Line) -> bool:
    """Say whether a standard keeps this identifier for diagnostics: those of ISO 15765-4, the 29-bit ones of ISO
    15765-2 that carry their addresses, and all of ISO 13400-2."""
    if line.width == 11:
        return line.ext is None and (
            line.number in can_id.REQUESTS_11 or line.number in can_id.ANSWERS_11 or is_functional(line)
        )
    return line.width == 32 or can_id.take_apart(line.number) is not None


def only_asks(line: Line) -> bool:
    """Say whether a standard makes every message of this line a request: 7E0 to 7E7, 7DF, and 29 bits from the tester
    F1 (ISO 15765-4)."""
    if line.width == 11:
        return line.ext is None and (line.number in can_id.REQUESTS_11 or is_functional(line))
    parts = can_id.take_apart(line.number) if line.width == 29 else None
    return parts is not None and parts.source == can_id.TESTER and parts.target != can_id.TESTER


def is_functional(line: Line) -> bool:
    """Say whether a standard makes this a line of functional requests (DoIP: targets E000 to EFFF)."""
    if line.width == 32:
        return 0xE000 <= line.number & 0xFFFF <= 0xEFFF
    return can_id.is_functional(line.number, line.width == 29)


def may_answer(request: Line, answer: Line) -> bool:
    """Say whether the answers to functional requests on one line may come on the other.

    29 bit and DoIP: the answer's target is the request's source. 11 bit: any identifier; makers spread theirs widely.
    Both have an address byte, or neither.
    """
    if request.channel != answer.channel or request.width != answer.width:
        return False
    if (request.ext is None) != (answer.ext is None):
        return False
    if request.width == 32:
        return answer.number & 0xFFFF == request.number >> 16
    if request.width == 29 and is_functional(request):
        return can_id.is_answer_to_functional(request.number, answer.number, True) and request.ext == answer.ext
    return request != answer


def standard_partner(answer: Line) -> Line | None:
    """Return the line of the physical requests that this one answers, where the identifiers alone can tell.

    29 bit and DoIP: source and target swapped. 11 bit: 8 below, which ISO 15765-4 asks for at 7E8 to 7EF and which is
    common practice, no source, elsewhere; not where an address byte tells units apart.
    """
    number = answer.number
    if answer.width == 32:
        return answer._replace(number=(number & 0xFFFF) << 16 | number >> 16)
    if answer.width == 29:
        partner = can_id.partner(number, True)
        return None if partner is None else answer._replace(number=partner)
    return answer._replace(number=number - 8) if number >= 8 and answer.ext is None else None
