"""What a packet capture holds: one packet with its link type, time and place. Both capture formats give these."""

from __future__ import annotations

from typing import NamedTuple

ETHERNET = 1
RAW_IP = 101
LINUX_SLL = 113
CAN_SOCKETCAN = 227
IPV4, IPV6 = 228, 229
LINUX_SLL2 = 276
LINK_TYPES = frozenset((ETHERNET, RAW_IP, LINUX_SLL, CAN_SOCKETCAN, IPV4, IPV6, LINUX_SLL2))
"""Link types that are read, as numbered by the tcpdump group's registry."""


class Packet(NamedTuple):
    """One captured packet. `interface` counts within the file; `channel` is its name, or empty where it has none."""

    link_type: int
    data: bytes
    time_ns: int
    interface: int
    channel: str
    number: int
