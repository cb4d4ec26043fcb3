"""The pcap format (draft-ietf-opsawg-pcap): bytes in, packets out.

Rules: either byte order, micro- and nanosecond files. A file that breaks off gives every whole packet, then damage
with its byte offset; a record header that cannot be true ends the reading, because nothing after it can be found.
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Iterator

from witnessmark.errors import InputError
from witnessmark.recording.packet import Packet
from witnessmark.recording.source import Buffer

_ORDERS = {
    b"\xa1\xb2\xc3\xd4": (">", 1000),
    b"\xd4\xc3\xb2\xa1": ("<", 1000),
    b"\xa1\xb2\x3c\x4d": (">", 1),
    b"\x4d\x3c\xb2\xa1": ("<", 1),
}
LONGEST = 1 << 24
"""No packet is longer: what claims to be is damage."""


def is_pcap(content: Buffer) -> bool:
    """Say whether the buffer begins as a pcap file does."""
    return content[:4] in _ORDERS


def read_pcap(content: Buffer, name: str, report: Callable[[InputError], None]) -> Iterator[Packet]:
    """Yield the packets in file order; `report` gets what is damaged."""
    order, unit_ns = _ORDERS[content[:4]]
    size = len(content)
    if size < 24:
        report(broken(name, 0, "the file ends inside its header"))
        return
    link_type = struct.unpack_from(order + "I", content, 20)[0] & 0xFFFF
    record = struct.Struct(order + "4I")
    at, number = 24, 0
    while at < size:
        if at + 16 > size:
            report(broken(name, at, "the file ends inside a packet's header"))
            return
        seconds, fraction, kept, _ = record.unpack_from(content, at)
        if kept > LONGEST:
            report(broken(name, at, f"a packet of {kept} bytes cannot be"))
            return
        if at + 16 + kept > size:
            report(broken(name, at, f"the file ends inside a packet of {kept} bytes"))
            return
        number += 1
        data = content[at + 16 : at + 16 + kept]
        yield Packet(link_type, data, seconds * 1_000_000_000 + fraction * unit_ns, 0, "", number)
        at += 16 + kept


def broken(name: str, at: int, what: str) -> InputError:
    """Name the byte where a capture cannot be read on."""
    return InputError(what, place=f"{name} byte {at}", hint="copy the file again; what came before is read")
