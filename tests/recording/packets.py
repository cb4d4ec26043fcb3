"""Captures made by hand for the tests: pcap and pcapng files, SocketCAN and cooked packets, TCP and UDP in Ethernet.

The layouts are those of the pcap and pcapng drafts of the IETF's opsawg, of the tcpdump group's link type pages and of
RFC 791, 768 and 9293 (from memory; tests/oracles holds the readers against scapy)."""

import struct


def pcap(packets, link_type=227, order="<", nanoseconds=False, start_s=1000):
    """One pcap file. `packets` are (seconds after the start, data)."""
    magic = 0xA1B23C4D if nanoseconds else 0xA1B2C3D4
    out = struct.pack(order + "IHHiIII", magic, 2, 4, 0, 0, 65535, link_type)
    for after_s, data in packets:
        time_ns = round((start_s + after_s) * 1e9)
        part = time_ns % 10**9 // (1 if nanoseconds else 1000)
        out += struct.pack(order + "4I", time_ns // 10**9, part, len(data), len(data)) + data
    return out


def block(kind, body, order="<"):
    body += bytes(-len(body) % 4)
    size = 12 + len(body)
    return struct.pack(order + "2I", kind, size) + body + struct.pack(order + "I", size)


def option(code, value, order="<"):
    return struct.pack(order + "HH", code, len(value)) + value + bytes(-len(value) % 4)


def pcapng(packets, link_type=227, order="<", name=b"can3", resolution=9, extra=b"", snap=0):
    """One pcapng section with one interface. `packets` are (nanoseconds, data); `extra` are further options."""
    out = block(0x0A0D0D0A, struct.pack(order + "IHHq", 0x1A2B3C4D, 1, 0, -1), order)
    options = option(2, name, order) + option(9, bytes([resolution]), order) + extra + option(0, b"", order)
    out += block(1, struct.pack(order + "HHI", link_type, 0, snap) + options, order)
    for time_ns, data in packets:
        ticks = time_ns * 10**resolution // 10**9
        head = struct.pack(order + "5I", 0, ticks >> 32, ticks & 0xFFFFFFFF, len(data), len(data))
        out += block(6, head + data, order)
    return out


def can(can_id, data, order="big", extended=False, fd=False, flags=0):
    word = can_id | (0x80000000 if extended else 0) | flags
    return word.to_bytes(4, order) + bytes([len(data), 4 if fd else 0, 0, 0]) + data


def sll(body, protocol=0x000C, way=0):
    return struct.pack(">HHH8sH", way, 280, 0, b"", protocol) + body


def sll2(body, protocol=0x000C, way=0, index=7):
    return struct.pack(">HHIHBB8s", protocol, 0, index, 280, way, 0, b"") + body


def ethernet(ip, kind=0x0800, vlan=b""):
    return bytes(12) + vlan + struct.pack(">H", kind) + ip


def ipv4(protocol, source, target, body, fragment=0, total=None):
    total = 20 + len(body) if total is None else total
    head = struct.pack(">BBHHHBBH4s4s", 0x45, 0, total, 0, fragment, 64, protocol, 0, source, target)
    return head + body


def ipv6(protocol, source, target, body, length=None):
    length = len(body) if length is None else length
    return struct.pack(">IHBB16s16s", 6 << 28, length, protocol, 64, source, target) + body


def udp(source_port, target_port, data):
    return struct.pack(">4H", source_port, target_port, 8 + len(data), 0) + data


def tcp(source_port, target_port, sequence, data=b"", flags=0x18):
    return struct.pack(">HHIIBBHHH", source_port, target_port, sequence, 0, 5 << 4, flags, 0, 0, 0) + data
