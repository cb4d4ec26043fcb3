"""Requests of ISO 14230-3, built, and its negative answer; header and checksum go on later. Building sends nothing.

A value out of range raises InputError that names the parameter.
"""

from __future__ import annotations

from witnessmark.errors import InputError

START_COMMUNICATION = b"\x81"
STOP_COMMUNICATION = b"\x82"


def _number(name: str, value: int, size: int = 1) -> bytes:
    if not 0 <= value < 1 << 8 * size:
        raise InputError(f"{value} is out of range.", place=name, hint=f"give a number of {size} byte(s)")
    return value.to_bytes(size, "big")


def start_session(mode: int) -> bytes:
    """Ask for a diagnostic session."""
    return b"\x10" + _number("diagnosticMode", mode)


def stop_session() -> bytes:
    """End the diagnostic session."""
    return b"\x20"


def tester_present(*, answer: bool = True) -> bytes:
    """Keep the session alive; responseRequired is 01 for yes and 02 for no."""
    return b"\x3e\x01" if answer else b"\x3e\x02"


def read_identification(option: int) -> bytes:
    """Read one record of the control unit's identification."""
    return b"\x1a" + _number("identificationOption", option)


def read_local(identifier: int) -> bytes:
    """Read data by local identifier."""
    return b"\x21" + _number("recordLocalIdentifier", identifier)


def read_common(identifier: int) -> bytes:
    """Read data by common identifier."""
    return b"\x22" + _number("recordCommonIdentifier", identifier, 2)


def read_codes(status: int = 0x00, group: int = 0xFF00) -> bytes:
    """Read trouble codes by status; group FF00 is all of them."""
    return b"\x18" + _number("statusOfDTCRequest", status) + _number("groupOfDTC", group, 2)


def clear_codes(group: int = 0xFF00) -> bytes:
    """Clear trouble codes of a group; FF00 is all of them."""
    return b"\x14" + _number("groupOfDTC", group, 2)


def io_control_local(identifier: int, control: int, state: bytes = b"") -> bytes:
    """Control an input or output by local identifier."""
    return b"\x30" + _number("inputOutputLocalIdentifier", identifier) + _number("control", control) + state


def start_routine(identifier: int, option: bytes = b"") -> bytes:
    """Start a routine by local identifier."""
    return b"\x31" + _number("routineLocalIdentifier", identifier) + option


def stop_routine(identifier: int, option: bytes = b"") -> bytes:
    """Stop a routine by local identifier."""
    return b"\x32" + _number("routineLocalIdentifier", identifier) + option


def routine_results(identifier: int) -> bytes:
    """Ask for a routine's results by local identifier."""
    return b"\x33" + _number("routineLocalIdentifier", identifier)


def negative(service: int, code: int) -> bytes:
    """Refuse a service with a response code."""
    return b"\x7f" + _number("service", service) + _number("responseCode", code)
