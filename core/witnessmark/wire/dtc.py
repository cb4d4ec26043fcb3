"""Trouble codes and their status, in the two-byte (SAE J2012) and the three-byte (ISO 15031-6) format.

Bits 7 and 6 of the first byte are the letter, 5 and 4 the first digit, the nibbles that follow are the rest; a third
byte is the failure type, printed behind a dash: 52 34 56 is C1234-56. The status byte is ISO 14229-1:2020, annex D.2.
"""

from __future__ import annotations

import re

from witnessmark.errors import InputError

LETTERS = "PCBU"
_CODE = re.compile(r"([PCBU])([0-3])([0-9A-F]{3})(?:-([0-9A-F]{2}))?")

STATUS_BITS = (
    "testFailed",
    "testFailedThisOperationCycle",
    "pendingDTC",
    "confirmedDTC",
    "testNotCompletedSinceLastClear",
    "testFailedSinceLastClear",
    "testNotCompletedThisOperationCycle",
    "warningIndicatorRequested",
)
"""Names of bits 0 to 7 of statusOfDTC."""

SEVERITY_BITS = (
    "DTCClass_0",
    "DTCClass_1",
    "DTCClass_2",
    "DTCClass_3",
    "DTCClass_4",
    "maintenanceOnly",
    "checkAtNextHalt",
    "checkImmediately",
)
"""Names of bits 0 to 7 of DTCSeverity (annex D.3): bits 7 to 5 are the severity, 4 to 0 the class of GTR 5."""

FORMATS = {
    0x00: "SAE_J2012-DA_DTCFormat_00",
    0x01: "ISO_14229-1_DTCFormat",
    0x02: "SAE_J1939-73_DTCFormat",
    0x03: "ISO_11992-4_DTCFormat",
    0x04: "SAE_J2012-DA_DTCFormat_04",
}
"""DTCFormatIdentifier (ISO 14229-1:2020, 12.3.3)."""

ALL_GROUPS = 0xFFFFFF
"""groupOfDTC for every group (annex D.1)."""


def format_code(code: bytes) -> str:
    """Print a trouble code of two bytes as `C1234`, of three as `C1234-56`.

    Raises InputError for another length.
    """
    if len(code) not in (2, 3):
        raise InputError(
            f"A trouble code has two or three bytes, not {len(code)}.", place="trouble code", hint="give 2 or 3 bytes"
        )
    first = code[0]
    text = f"{LETTERS[first >> 6]}{first >> 4 & 3}{first & 15:X}{code[1]:02X}"
    return f"{text}-{code[2]:02X}" if len(code) == 3 else text


def format_number(number: int) -> str:
    """Print a three-byte trouble code given as a number from 0 to 0xFFFFFF."""
    return format_code(number.to_bytes(3, "big"))


def parse_code(text: str) -> bytes:
    """Read `C1234` into two bytes or `C1234-56` into three; small letters are accepted.

    Raises InputError for any other writing.
    """
    match = _CODE.fullmatch(text.strip().upper())
    if match is None:
        raise InputError(
            f"{text!r} is not a trouble code.",
            place="trouble code",
            hint="write P, C, B or U, a digit 0 to 3, three hex digits, and perhaps a dash and two more: C1234-56",
        )
    letter, digit, rest, failure = match.groups()
    number = LETTERS.index(letter) << 14 | int(digit) << 12 | int(rest, 16)
    return number.to_bytes(2, "big") + (bytes.fromhex(failure) if failure else b"")


def status_names(status: int) -> tuple[str, ...]:
    """Name the bits set in a statusOfDTC byte, bit 0 first."""
    return tuple(name for bit, name in enumerate(STATUS_BITS) if status >> bit & 1)


def severity_names(severity: int) -> tuple[str, ...]:
    """Name the bits set in a DTCSeverity byte, bit 0 first."""
    return tuple(name for bit, name in enumerate(SEVERITY_BITS) if severity >> bit & 1)


def bits_text(byte: int, names: tuple[str, ...]) -> str:
    """Print a byte of flags: its hex value and the names that are set."""
    return f"0x{byte:02X} {', '.join(names)}" if names else f"0x{byte:02X}"
