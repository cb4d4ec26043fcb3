"""The shape of a candump line: which columns hold what, and the tests that tell whether a line has it.

Lines are tested eight columns at a time, as 64-bit words: `(word & mask) == wanted` for the bytes that every line of
the shape shares, and a second time with `add` so that only '0' to '9' pass where a decimal digit stands (a byte is one
when it and it + 6 both have the high half 3).
"""

from __future__ import annotations

import re
from typing import NamedTuple

_REGULAR = re.compile(
    rb"\((\d{1,10})\.(\d{1,9})\) (\S+) ([0-9A-Fa-f]{8}|[0-9A-Fa-f]{3})#((?:[0-9A-Fa-f]{2}){0,8})( [RT])?(\r?)"
)
_HEX = frozenset(b"0123456789abcdefABCDEF")


class Check(NamedTuple):
    """What the eight bytes from column `at` have to be."""

    at: int
    mask: int
    wanted: int
    add: int


class Shape(NamedTuple):
    """Column ranges of a line of `length` bytes. `digits`: how many hexadecimal digits it has, fixed ones included."""

    length: int
    channel: str
    seconds: slice
    fraction: slice
    number: slice
    data: slice
    tests: tuple[Check, ...]
    digits: int

    @property
    def extended(self) -> bool:
        """Whether the identifier has 29 bits."""
        return bool(self.number.stop - self.number.start == 8)

    @property
    def size(self) -> int:
        """Data bytes of the frame."""
        return int(self.data.stop - self.data.start) // 2


def shape_of(line: bytes) -> Shape | None:
    """Return the shape of a line in candump's log form, or None for any other line."""
    found = _REGULAR.fullmatch(line)
    if found is None:
        return None
    seconds, fraction, channel, number, data, way, end = (slice(*found.span(group)) for group in range(1, 8))
    fixed = {0, seconds.stop, fraction.stop, fraction.stop + 1, channel.stop, number.stop}
    for span in (channel, way, end):
        fixed.update(range(span.start, span.stop))
    decimal = {*range(seconds.start, seconds.stop), *range(fraction.start, fraction.stop)}
    digits = len(decimal) + (number.stop - number.start) + (data.stop - data.start)
    digits += sum(line[column] in _HEX for column in fixed)
    name = found[3].decode("utf-8", "replace")
    return Shape(len(line), name, seconds, fraction, number, data, _tests(line, fixed, decimal), digits)


def _tests(line: bytes, fixed: set[int], decimal: set[int]) -> tuple[Check, ...]:
    tests = []
    for at in sorted({min(column, len(line) - 8) for column in range(0, len(line), 8)}):
        mask, wanted, add = bytearray(8), bytearray(8), bytearray(8)
        for place in range(8):
            column = at + place
            if column in fixed:
                mask[place], wanted[place] = 0xFF, line[column]
            elif column in decimal:
                mask[place], wanted[place], add[place] = 0xF0, 0x30, 6
        if any(mask):
            tests.append(Check(at, *(int.from_bytes(part, "little") for part in (mask, wanted, add))))
    return tuple(tests)
