"""Names the identifiers that the practice control unit measures: the shipped example of a decoder.

A unit that is not the practice unit is nobody's here.
"""

from __future__ import annotations

from collections.abc import Mapping

from witnessmark.plugin import Identified, hookimpl
from witnessmark.quantity import plain
from witnessmark_practice.identity import IDENTIFICATION

API_VERSION = 1
PART_NUMBER = IDENTIFICATION[0xF187].hex().upper()

NAMES: dict[int, tuple[str, int, int, str]] = {
    0x7001: ("supply voltage", 1, 10, "V"),
    0x7002: ("vehicle speed", 1, 1, "km/h"),
    0x7003: ("selector", 1, 1, ""),
    0x7004: ("ignition", 1, 1, ""),
    0x7005: ("reservoir pressure", 1, 100, "bar"),
    0x7006: ("pump temperature", 1, 1, "degC"),
    0x7007: ("running wire command", 1, 1, ""),
    0x7008: ("level switch", 1, 1, ""),
}
"""Name, numerator, denominator and unit; the temperature is 40 above."""


@hookimpl
def identify(unit: Mapping[str, str], service: int, identifier: int, value: bytes) -> Identified | None:
    if unit.get("F187") != PART_NUMBER or service != 0x22 or identifier not in NAMES:
        return None
    name, numerator, denominator, unit_of_value = NAMES[identifier]
    if not value:
        return Identified(name, "", unit_of_value)
    raw = int.from_bytes(value, "big") - (40 if identifier == 0x7006 else 0)
    return Identified(name, plain(raw * numerator / denominator), unit_of_value)
