"""Check sums that a line may carry.

`sum8` is the low byte of the sum, `twos8` its two's complement, `xor8` the exclusive or of all bytes, `crc16` the
CRC-16 with polynomial 0x1021 and start value 0xFFFF.
"""

from __future__ import annotations

import binascii
from functools import reduce
from operator import xor
from typing import Literal

Kind = Literal["sum8", "twos8", "xor8", "crc16"]


def checksum(kind: Kind, over: bytes) -> int:
    """Return the check sum of `over`."""
    match kind:
        case "sum8":
            return sum(over) & 0xFF
        case "twos8":
            return -sum(over) & 0xFF
        case "xor8":
            return reduce(xor, over, 0)
        case "crc16":
            return binascii.crc_hqx(over, 0xFFFF)
