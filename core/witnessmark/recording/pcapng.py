"""The pcapng format (draft-ietf-opsawg-pcapng): bytes in, packets out.

Rules: each section has a byte order and interfaces of its own; enhanced, simple and the old packet blocks are read, the
others are stepped over. A block that cannot be true ends the reading with its byte offset.
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from witnessmark.errors import InputError
from witnessmark.recording.packet import Packet
from witnessmark.recording.pcap import LONGEST, broken
from witnessmark.recording.source import Buffer

_SECTION, _INTERFACE, _OLD_PACKET, _SIMPLE_PACKET, _PACKET = 0x0A0D0D0A, 1, 2, 3, 6
_NAME, _RESOLUTION, _OFFSET = 2, 9, 14


@dataclass(frozen=True, slots=True)
class _Interface:
    link_type: int
    snap: int
    name: str = ""
    units_per_s: int = 1_000_000
    offset_s: int = 0

    def time_ns(self, high: int, low: int) -> int:
        return (high << 32 | low) * 1_000_000_000 // self.units_per_s + self.offset_s * 1_000_000_000


@dataclass(slots=True)
class _Section:
    order: str
    first: int
    interfaces: list[_Interface] = field(default_factory=list)


class _Damage(Exception):
    """What is wrong with a block."""


def is_pcapng(content: Buffer) -> bool:
    """Say whether the buffer begins as a pcapng file does."""
    return content[:4] == b"\x0a\x0d\x0d\x0a" and content[8:12] in (b"\x1a\x2b\x3c\x4d", b"\x4d\x3c\x2b\x1a")


def read_pcapng(content: Buffer, name: str, report: Callable[[InputError], None]) -> Iterator[Packet]:
    """Yield the packets in file order; `report` gets what is damaged. Interfaces are counted through all sections."""
    section = _Section("<", 0)
    at, number = 0, 0
    while at < len(content):
        try:
            if content[at : at + 4] == b"\x0a\x0d\x0d\x0a":
                section = _Section(_order(content[at + 8 : at + 12]), section.first + len(section.interfaces))
            kind, body, size = _block(content, at, section.order)
            packet = None
            if kind == _INTERFACE:
                section.interfaces.append(_interface(body, section.order))
            elif kind in (_PACKET, _OLD_PACKET, _SIMPLE_PACKET):
                number += 1
                packet = _packet(kind, body, section, number)
        except (_Damage, struct.error) as error:
            report(broken(name, at, str(error) if isinstance(error, _Damage) else "a block ends early"))
            return
        if packet is not None:
            yield packet
        at += size


def _order(magic: bytes) -> str:
    if magic == b"\x1a\x2b\x3c\x4d":
        return ">"
    if magic == b"\x4d\x3c\x2b\x1a":
        return "<"
    raise _Damage("a section header without its byte order")


def _block(content: Buffer, at: int, order: str) -> tuple[int, bytes, int]:
    if at + 12 > len(content):
        raise _Damage("the file ends inside a block's header")
    kind, size = struct.unpack_from(order + "2I", content, at)
    if size < 12 or size > LONGEST or size % 4:
        raise _Damage(f"a block of {size} bytes cannot be")
    if at + size > len(content):
        raise _Damage(f"the file ends inside a block of {size} bytes")
    if struct.unpack_from(order + "I", content, at + size - 4)[0] != size:
        raise _Damage("a block's two lengths differ")
    return kind, content[at + 8 : at + size - 4], size


def _interface(body: bytes, order: str) -> _Interface:
    link_type, _, snap = struct.unpack_from(order + "HHI", body)
    name, units, offset = "", 1_000_000, 0
    at = 8
    while at + 4 <= len(body):
        code, length = struct.unpack_from(order + "HH", body, at)
        value = body[at + 4 : at + 4 + length]
        if code == 0:
            break
        if code == _NAME:
            name = value.decode("utf-8", "replace").rstrip("\0")
        elif code == _RESOLUTION and length == 1:
            units = 2 ** (value[0] & 0x7F) if value[0] & 0x80 else 10 ** value[0]
        elif code == _OFFSET and length == 8:
            offset = struct.unpack(order + "q", value)[0]
        at += 4 + (length + 3 & ~3)
    return _Interface(link_type, snap, name, units, offset)


def _packet(kind: int, body: bytes, section: _Section, number: int) -> Packet:
    order = section.order
    if kind == _SIMPLE_PACKET:
        index, high, low, start = 0, 0, 0, 4
        kept = struct.unpack_from(order + "I", body)[0]
    elif kind == _PACKET:
        index, high, low, kept, _ = struct.unpack_from(order + "5I", body)
        start = 20
    else:
        index, _, high, low, kept, _ = struct.unpack_from(order + "HH4I", body)
        start = 20
    if index >= len(section.interfaces):
        raise _Damage(f"a packet of interface {index}, which is not described")
    interface = section.interfaces[index]
    if kind == _SIMPLE_PACKET:
        kept = min(kept, interface.snap or kept)
    if start + kept > len(body):
        raise _Damage(f"a packet of {kept} bytes in a block with room for {len(body) - start}")
    time_ns = interface.time_ns(high, low)
    data = body[start : start + kept]
    return Packet(interface.link_type, data, time_ns, section.first + index, interface.name, number)
