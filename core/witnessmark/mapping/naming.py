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

        items = value[1:].strip(b"\0")  # behind their count, filled with zeros
        printed = items.isascii() and items.decode("ascii").isprintable()
        return Told(INFORMATION_TYPES.get(identifier, ""), items.decode("ascii") if items and printed else "")
    return Told("")
