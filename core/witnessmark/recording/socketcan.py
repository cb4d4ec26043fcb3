"""CAN frames in captured packets: SocketCAN's own link type and the two cooked ones. Packets in, frames out.

The registry says that the identifier stands in network byte order; captures exist in either. It is found out, for each
interface: a frame whose identifier makes sense in one order only settles it, and frames that make sense in both wait
for one that does. A capture in which nothing settles it is read as the registry says.
Error frames are left out. CAN XL is damage.
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Iterable, Iterator
from typing import Literal

from witnessmark.clock import Stamp
from witnessmark.errors import InputError
from witnessmark.link.frame import Frame, Origin
from witnessmark.recording.packet import CAN_SOCKETCAN, LINUX_SLL, LINUX_SLL2, Packet
from witnessmark.wire.isotp.pdu import CAN_LENGTHS

_EFF, _RTR, _ERR = 0x8000_0000, 0x4000_0000, 0x2000_0000
_CAN, _CAN_FD = 0x000C, 0x000D
_FD_FRAME = 0x04
_ARP_CAN = 280
_ORIGIN: dict[int, Origin] = {4: "sent"}
"""By the cooked packet type: 4 is outgoing."""

Order = Literal["big", "little"]


class _Cooked:
    """The CAN part of a packet, before its byte order is known."""

    __slots__ = ("body", "channel", "fd", "origin", "packet")

    def __init__(self, packet: Packet, body: bytes, channel: str, origin: Origin, fd: bool = False) -> None:
        self.packet, self.body, self.channel, self.origin, self.fd = packet, body, channel, origin, fd


def carries_can(packet: Packet) -> bool:
    """Say whether a packet holds a CAN frame."""
    return _cooked(packet) is not None


def read_frames(packets: Iterable[Packet], name: str, report: Callable[[InputError], None]) -> Iterator[Frame]:
    """Yield the CAN frames in order. Frames are held back only until their interface's byte order is settled."""
    orders: dict[tuple[int, int], Order] = {}
    waiting: list[_Cooked] = []
    for packet in packets:
        cooked = _cooked(packet)
        if cooked is None:
            continue
        key = (packet.link_type, packet.interface)
        if key not in orders:
            settled = _settle(cooked.body)
            if settled is not None:
                orders[key] = settled
        waiting.append(cooked)
        ready = 0
        while ready < len(waiting) and _key(waiting[ready]) in orders:
            ready += 1
        if ready:
            yield from _frames(waiting[:ready], orders, name, report)
            del waiting[:ready]
    yield from _frames(waiting, orders, name, report)


def _key(cooked: _Cooked) -> tuple[int, int]:
    return cooked.packet.link_type, cooked.packet.interface


def _cooked(packet: Packet) -> _Cooked | None:
    data = packet.data
    channel = packet.channel or (f"can{packet.interface}" if packet.interface else "can0")
    if packet.link_type == CAN_SOCKETCAN:
        return _Cooked(packet, data, channel, "received")
    if packet.link_type == LINUX_SLL and len(data) >= 16:
        way, hardware = struct.unpack_from(">HH", data)
        protocol = struct.unpack_from(">H", data, 14)[0]
        if hardware == _ARP_CAN and protocol in (_CAN, _CAN_FD):
            return _Cooked(packet, data[16:], channel, _ORIGIN.get(way, "received"), protocol == _CAN_FD)
    if packet.link_type == LINUX_SLL2 and len(data) >= 20:
        protocol, _, index, hardware, way = struct.unpack_from(">HHIHB", data)
        if hardware == _ARP_CAN and protocol in (_CAN, _CAN_FD):
            return _Cooked(packet, data[20:], f"if{index}", _ORIGIN.get(way, "received"), protocol == _CAN_FD)
    return None


def _settle(body: bytes) -> Order | None:
    if len(body) < 8:
        return None
    big, little = _makes_sense(int.from_bytes(body[:4], "big")), _makes_sense(int.from_bytes(body[:4], "little"))
    if big == little:
        return None
    return "big" if big else "little"


def _makes_sense(word: int) -> bool:
    """A word that SocketCAN could have written: no identifier above 11 bits without the flag for 29."""
    if word & _ERR:
        return not word & (_EFF | _RTR)
    return bool(word & _EFF) or word & 0x1FFF_FFFF <= 0x7FF


def _frames(
    ready: list[_Cooked], orders: dict[tuple[int, int], Order], name: str, report: Callable[[InputError], None]
) -> Iterator[Frame]:
    for cooked in ready:
        try:
            frame = _frame(cooked, orders.get(_key(cooked), "big"))
        except ValueError as error:
            hint = "the frame is left out"
            report(InputError(str(error), place=f"{name} packet {cooked.packet.number}", hint=hint))
            continue
        if frame is not None:
            yield frame


def _frame(cooked: _Cooked, order: Order) -> Frame | None:
    body = cooked.body
    if len(body) < 8:
        raise ValueError(f"a CAN frame of {len(body)} bytes ends inside its header")
    word = int.from_bytes(body[:4], order)
    length, flags = body[4], body[5]
    if word & _ERR:
        return None
    if length & 0x80 and not flags & _FD_FRAME:
        raise ValueError("a CAN XL frame, which is not read")
    fd = cooked.fd or length > 8 or bool(flags & _FD_FRAME)
    if length not in CAN_LENGTHS:
        raise ValueError(f"{length} bytes of data fit no CAN frame")
    remote = bool(word & _RTR)
    extended = bool(word & _EFF)
    can_id = word & 0x1FFF_FFFF
    if not extended and can_id > 0x7FF:
        raise ValueError(f"identifier {can_id:X} does not fit 11 bits")
    if not remote and len(body) < 8 + length:
        raise ValueError(f"{len(body) - 8} bytes of data where {length} are announced")
    data = b"" if remote else body[8 : 8 + length]
    stamp = Stamp(cooked.packet.time_ns, cooked.packet.time_ns)
    kind = "remote" if remote else "data"
    return Frame(can_id, data, stamp, cooked.origin, extended, fd, kind, cooked.channel)  # type: ignore[arg-type]
