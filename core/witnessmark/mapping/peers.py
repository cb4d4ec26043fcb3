"""The addresses that a probe tries: read as people write them, and whom all of them listen to.

Text flows in, peers flow out. Rules that hold here: three hex digits are an identifier of 11 bits, more are one of 29,
two are a node of a K-line, which answers under the address it is asked by; who answers an identifier is said by a
standard or by whoever writes it, never guessed.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from witnessmark.errors import InputError
from witnessmark.link.frame import Peer
from witnessmark.wire import can_id

FUNCTIONAL_KLINE = 0x33
"""The address that all emission-related units on a K-line listen to (ISO 14230-4, from memory)."""

Bits = Literal[8, 11, 29]


def bits(peer: Peer) -> Bits:
    """Return how many bits its addresses have: 8 for a node of a K-line, which has one address for both ways."""
    if peer.extended:
        return 29
    node = peer.target == (FUNCTIONAL_KLINE if peer.functional else peer.source)
    return 8 if node else 11


def spell(number: int, width: int) -> str:
    """Write an address of so many bits in hex."""
    return f"{number:0{ {8: 2, 11: 3}.get(width, 8) }X}"


def everybody(peers: Iterable[Peer]) -> tuple[Peer, ...]:
    """Return the functional addresses that these peers listen to, each once."""
    targets = {8: FUNCTIONAL_KLINE, 11: can_id.FUNCTIONAL_11, 29: can_id.FUNCTIONAL_29}
    widths = dict.fromkeys(bits(peer) for peer in peers)
    return tuple(Peer(targets[width], functional=True, extended=width == 29) for width in widths)


def standard_peers(*, extended: bool = False) -> tuple[Peer, ...]:
    """Return the addresses of ISO 15765-4: 7E0-7E7 with 11 bits, 18DAxxF1 with 29."""
    found = []
    for request in can_id.standard_requests(extended):
        answer = can_id.partner(request, extended)
        assert answer is not None
        found.append(Peer(request, answer, extended=extended))
    return tuple(found)


def fit(peers: Iterable[Peer], *, kline: bool) -> None:
    """Refuse addresses of the other kind of link: as identifiers of CAN, nodes of a K-line would win over all traffic.

    Raises InputError before anything is sent.
    """
    for peer in peers:
        node = bits(peer) == 8
        if node and not kline:
            raise InputError(
                f"{spell(peer.target, 8)} is a node of a K-line, and this link is CAN",
                place="address",
                hint="write the identifier of the requests, like 6B3:6BB or 600-6FF; two digits are for a K-line",
            )
        if kline and not node:
            raise InputError(
                f"{spell(peer.target, bits(peer))} is an identifier of CAN, and this link is a K-line",
                place="address",
                hint="write its nodes with two digits, like --address 10-1F",
            )


def parse_range(text: str, most: int) -> tuple[int, int]:
    """Read `F180-F19F` or `F190` as hex. Raises InputError for what is none or lies beyond `most`."""
    first, _, last = text.partition("-")
    try:
        found = int(first, 16), int(last or first, 16)
    except ValueError:
        found = -1, -1
    if not 0 <= found[0] <= found[1] <= most:
        raise InputError(f"{text!r} is no range", place="range", hint=f"write hex like F180-F19F, up to {most:X}")
    return found


def parse_peers(text: str) -> tuple[Peer, ...]:
    """Read `6B3:6BB`, `600-6FF` (answers come 8 above), `18DA28F1`, or `10-1F` on a K-line. Raises InputError."""
    pair = text.split(":")
    digits = len(pair[0].partition("-")[0])
    if len(pair) > 2:
        raise _no_address(text)
    if digits <= 2:
        if len(pair) == 2:
            raise InputError(f"{text!r} has an answer", place="address", hint="a K-line node answers as it is asked")
        first, last = parse_range(text, 0xFF)
        return tuple(Peer(node, node) for node in range(first, last + 1))
    extended = digits > 3
    most = 0x1FFF_FFFF if extended else 0x7FF
    first, last = parse_range(pair[0], most)
    if len(pair) == 2:
        answer, answers_to = parse_range(pair[1], most)
        if last - first != answers_to - answer or answer == first:
            raise _no_address(text)
        return tuple(Peer(first + step, answer + step, extended=extended) for step in range(last - first + 1))
    if extended:
        peers = []
        for request in range(first, last + 1):
            partner = can_id.partner(request, True)
            if partner is None:
                raise InputError(f"who answers {request:08X} is not known", place="address", hint="write both: A:B")
            peers.append(Peer(request, partner, extended=True))
        return tuple(peers)
    return tuple(Peer(request, request + 8) for request in range(first, last + 1) if request + 8 <= most)


def _no_address(text: str) -> InputError:
    hint = "write both, as many of one as of the other and never the same: 6B3:6BB"
    return InputError(f"{text!r} is no pair of addresses", place="address", hint=hint)
