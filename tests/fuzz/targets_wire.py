"""Fuzz entry points of the wire layer: arbitrary bytes in, nothing but declared errors out.

Each `target_...` takes one input, raises only what is a fault of ours, and checks what has to hold of any result.
`SEEDS` has inputs worth mutating, by target name.
"""

from __future__ import annotations

from witnessmark.errors import LocalError, PeerError
from witnessmark.wire import can_id, doip, kline
from witnessmark.wire.isotp import Address, Addressing, Endpoint, Lost, Message, PassiveReassembler, Settings
from witnessmark.wire.isotp.pdu import encode, parse

MS = 1_000_000
EXTENDED = Address(0x6F1, 0x610, mode=Addressing.EXTENDED, tx_ext=0x10, rx_ext=0xF1)


def target_isotp_pdu(data: bytes) -> None:
    """One frame, each way of reading it; what is read writes back to the same beginning."""
    for ext in (False, True):
        for fd in (False, True):
            try:
                pdu = parse(data, ext=ext, fd=fd)
            except PeerError as error:
                assert error.reason and error.raw == data
                continue
            again = encode(pdu, prefix=data[:1] if ext else b"")
            assert again[:2] == data[:2] and len(again) <= 64


def chunks(data: bytes) -> list[tuple[int, bytes]]:
    """Cut an input into (control byte, piece): each piece's size is in the low bits of a byte before it."""
    found, at = [], 0
    while at + 1 < len(data):
        control, size = data[at], data[at + 1] % 65
        found.append((control, data[at + 2 : at + 2 + size]))
        at += 2 + size
    return found


def target_isotp_endpoint(data: bytes) -> None:
    """A script of frames, requests and time against both roles."""
    first = data[0] if data else 0
    settings = Settings(fd=bool(first & 1), confirms=bool(first & 2), block_size=first >> 4, max_length=5000)
    peer = Endpoint(EXTENDED if first & 4 else Address(0x7E0, 0x7E8), settings)
    now_ns = 0
    for control, piece in chunks(data[1:]):
        now_ns += (control >> 3) * 40 * MS
        match control & 7:
            case 0 | 1 | 2:
                peer.receive(piece, now_ns, functional=control & 7 == 2)
            case 3:
                try:
                    peer.send(piece, now_ns)
                except LocalError as error:
                    assert error.hint
            case 4:
                peer.hold(bool(piece), now_ns)
            case 5:
                peer.sent(now_ns)
            case 6:
                peer.tick(now_ns)
        assert all(len(frame) <= 64 for frame in peer.outgoing(now_ns))
        deadline_ns = peer.deadline_ns()
        assert deadline_ns is not None or peer.states == ("idle", "idle")
    peer.reset(now_ns)
    assert peer.states == ("idle", "idle") and peer.deadline_ns() is None


def target_isotp_passive(data: bytes) -> None:
    """Frames of up to four senders; what comes out is made of frames that went in, each at most once."""
    for ext in (False, True):
        reassembler = PassiveReassembler(ext=ext)
        told: list[Message | Lost] = []
        total = stamp_ns = 0
        for control, piece in chunks(data):
            stamp_ns += (control >> 2) * 40 * MS
            told += reassembler.feed(control & 3, piece, stamp_ns)
            total += 1
        told += reassembler.finish()
        assert sum(len(one.frames) for one in told) <= total
        assert all(len(one.payload) <= sum(map(len, one.frames)) for one in told if isinstance(one, Message))


def target_doip_datagram(data: bytes) -> None:
    """One datagram; what is read writes back byte for byte."""
    try:
        message = doip.decode(data)
    except PeerError as error:
        assert error.reason and error.raw == data
    else:
        assert doip.encode(message.payload, message.version) == data


def target_doip_stream(data: bytes) -> None:
    """A stream, whole and in two pieces."""
    whole, cut = doip.Stream(max_length=1000), doip.Stream(max_length=1000)
    at = data[0] if data else 0
    assert whole.feed(data) == cut.feed(data[:at]) + cut.feed(data[at:])
    assert whole.rest == cut.rest


def target_kline(data: bytes) -> None:
    """Bytes of the line, whole and in two pieces; each is told exactly once."""
    whole, cut = kline.Stream(), kline.Stream()
    at = data[0] if data else 0
    told = whole.feed(data)
    assert told == cut.feed(data[:at]) + cut.feed(data[at:])
    told += whole.idle()
    assert b"".join(one.raw for one in told) == data
    try:
        assert kline.decode(data).raw == data
    except PeerError as error:
        assert error.reason and error.raw == data


def target_can_id(data: bytes) -> None:
    """Any identifier; a partner's partner is the identifier itself."""
    identifier = int.from_bytes(data[:4], "big")
    for extended in (False, True):
        other = can_id.partner(identifier, extended)
        assert other is None or can_id.partner(other, extended) == identifier


FRAMES = [
    bytes.fromhex(text) for text in ("1014010203040506", "210708090a0b0c0d", "220e0f1011121314", "300000", "023e00")
]
SCRIPT = b"".join(bytes((0, len(frame))) + frame for frame in FRAMES)
SEEDS: dict[str, list[bytes]] = {
    "target_isotp_pdu": [*FRAMES, b"\x00\x14" + bytes(22), bytes.fromhex("1000000010000102")],
    "target_isotp_endpoint": [b"\x00" + SCRIPT, b"\x22" + SCRIPT + b"\x03\x14" + bytes(20) + SCRIPT],
    "target_isotp_passive": [SCRIPT, SCRIPT * 2],
    "target_doip_datagram": [
        doip.encode(doip.DiagnosticMessage(1, 2, b"\x3e\x00")),
        doip.encode(doip.PowerModeResponse(1)),
    ],
    "target_doip_stream": [doip.encode(doip.AliveCheckResponse(1)) * 3, bytes.fromhex("0202000100000000")],
    "target_kline": [bytes.fromhex("c133f18166") * 2, bytes.fromhex("686af10100c4"), bytes.fromhex("8010f1013ec0")],
    "target_can_id": [bytes.fromhex("18da10f1"), bytes.fromhex("000007e0")],
}
