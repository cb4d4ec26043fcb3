"""From a captured packet to what TCP or UDP carried in it: link, VLAN and IP headers taken off. Packets in, parts out.

Rules: Ethernet II with any VLAN tags, the cooked link types and raw IP; IPv4 and IPv6 (RFC 791, RFC 8200). A fragment
of an IP packet is not put together: it is told as such. Checksums are not looked at, because captures hold ones that
the interface fills in later.
"""

from __future__ import annotations

import struct
from typing import NamedTuple

from witnessmark.recording.packet import ETHERNET, IPV4, IPV6, LINUX_SLL, LINUX_SLL2, RAW_IP, Packet

_IPV4, _IPV6 = 0x0800, 0x86DD
_VLAN = {0x8100, 0x88A8}
_TCP, _UDP = 6, 17
_IPV6_EXTENSIONS = {0, 43, 60}
_IPV6_FRAGMENT = 44
SYN = 0x02


class End(NamedTuple):
    """One end of a connection: address as the raw bytes of IP, and port."""

    address: bytes
    port: int


class Part(NamedTuple):
    """What one packet carried. `sequence` is None for UDP; `flags` are TCP's."""

    source: End
    target: End
    data: bytes
    sequence: int | None
    flags: int


def read_part(packet: Packet) -> Part | None:
    """Return what TCP or UDP carried in a packet, or None when it is something else.

    Raises ValueError when a header is cut off or the packet is a fragment.
    """
    kind, body = _network(packet)
    if kind == _IPV4:
        return _ipv4(body)
    if kind == _IPV6:
        return _ipv6(body)
    return None


def _network(packet: Packet) -> tuple[int, bytes]:
    data = packet.data
    if packet.link_type in (RAW_IP, IPV4, IPV6):
        return (_IPV6 if data[:1] and data[0] >> 4 == 6 else _IPV4), data
    if packet.link_type == LINUX_SLL:
        return _word(data, 14), data[16:]
    if packet.link_type == LINUX_SLL2:
        return _word(data, 0), data[20:]
    if packet.link_type != ETHERNET:
        return 0, b""
    at = 12
    while _word(data, at) in _VLAN:
        at += 4
    return _word(data, at), data[at + 2 :]


def _word(data: bytes, at: int) -> int:
    if len(data) < at + 2:
        raise ValueError("a packet that ends inside its header")
    return data[at] << 8 | data[at + 1]


def _ipv4(body: bytes) -> Part | None:
    if len(body) < 20:
        raise ValueError("an IPv4 packet that ends inside its header")
    header = _header(body[0] & 0x0F)
    total = _word(body, 2)
    protocol = body[9]
    if protocol not in (_TCP, _UDP):
        return None
    if _word(body, 6) & 0x3FFF:
        raise ValueError("a fragment of an IPv4 packet, which is not put together")
    # A total length of 0 is what segmentation in the interface leaves behind.
    return _transport(protocol, body[12:16], body[16:20], body[header : total or len(body)])


def _ipv6(body: bytes) -> Part | None:
    if len(body) < 40:
        raise ValueError("an IPv6 packet that ends inside its header")
    kind, at = body[6], 40
    while kind in _IPV6_EXTENSIONS:
        if len(body) < at + 2:
            raise ValueError("an IPv6 packet that ends inside its header")
        kind, at = body[at], at + 8 + body[at + 1] * 8
    if kind == _IPV6_FRAGMENT:
        raise ValueError("a fragment of an IPv6 packet, which is not put together")
    if kind not in (_TCP, _UDP):
        return None
    length = _word(body, 4)  # 0 is what segmentation in the interface leaves behind
    return _transport(kind, body[8:24], body[24:40], body[at : 40 + length if length else len(body)])


def _transport(protocol: int, source: bytes, target: bytes, body: bytes) -> Part:
    if len(body) < (8 if protocol == _UDP else 20):
        raise ValueError("a packet that ends inside its header")
    source_port, target_port = struct.unpack_from(">HH", body)
    ends = End(source, source_port), End(target, target_port)
    if protocol == _UDP:
        length = _word(body, 4)
        return Part(*ends, body[8 : length or len(body)], None, 0)
    sequence = int.from_bytes(body[4:8], "big")
    return Part(*ends, body[_header(body[12] >> 4) :], sequence, body[13])


def _header(words: int) -> int:
    """How many bytes a header of IPv4 or TCP has, which says so in words of four; fewer than five cannot be."""
    if words < 5:
        raise ValueError(f"a header of {words * 4} bytes, where 20 are the least")
    return words * 4
