"""Names and units of identifiers: the standard's own, and what decoders add.

A service, an identifier and a raw value flow in, what is known of them flows out. Rule that holds here: a decoder is
asked first; what it does not know the standard may (ISO 14229-1, annex C.1; ISO 15031-5); else there is no name.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple


class Told(NamedTuple):
    """`name` of an identifier, `text` its value for people, with `unit` where it has one."""

    name: str
    text: str = ""
    unit: str = ""


Namer = Callable[[Mapping[str, str], int, int, bytes], Told | None]
"""Takes the unit's identification (identifier to value, both hex), service, identifier and value."""


def nobody(unit: Mapping[str, str], service: int, identifier: int, value: bytes) -> Told | None:
    """Know nothing beyond the standards."""
    return None


def told(namer: Namer, unit: Mapping[str, str], service: int, identifier: int, value: bytes) -> Told:
    """Return what `namer`, or else the standard, says of an identifier; an empty name when nobody knows it."""
    return namer(unit, service, identifier, value) or _standard(service, identifier, value)


def _standard(service: int, identifier: int, value: bytes) -> Told:
    if service == 0x22:
        from witnessmark.wire import identifiers

        name = identifiers.NAMES.get(identifier, "")
        return Told(name, identifiers.record_text(identifier, value) if name and value else "")
    if service in (0x01, 0x02):
        from witnessmark.wire.obd import pids

        return Told(pids.pid_name(identifier), pids.pid_text(identifier, value) if value else "")
    if service == 0x09:
        from witnessmark.wire.obd.services import INFORMATION_TYPES

        return Told(INFORMATION_TYPES.get(identifier, ""), _information(identifier, value))
    return Told("")


def _information(kind: int, value: bytes) -> str:
    """Print what OBD mode 09 told: lists as numbers; VIN, calibration and name as text behind their count."""
    from witnessmark.wire.obd import pids

    if kind % 0x20 == 0:
        return pids.pid_text(kind, value) if value else ""
    items = value[1:].strip(b"\0")
    text = items.decode("ascii", "replace")
    return text if kind in (0x02, 0x04, 0x0A) and text.isascii() and text.isprintable() else ""
