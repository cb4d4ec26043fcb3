"""One ISO 14230-3 message in, its meaning out; header and checksum are off already.

Whether a control unit speaks this or ISO 14229-1 cannot be told from one message: who decodes must know. Unknown parts
stay raw. Sub-functions have no suppress bit here.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from witnessmark.wire import dtc
from witnessmark.wire.kwp.codes import code_name
from witnessmark.wire.kwp.layouts import ANSWERS, REQUESTS
from witnessmark.wire.kwp.services import CONTROLS, SESSIONS, TIMING_TASKS, service_name
from witnessmark.wire.meaning import Decoded, Direction, Field, hex_text, list_text, problem_text, refusal
from witnessmark.wire.uds.head import head

_STORAGE = ("no code", "stored, not present", "maturing or intermittent", "stored and present")
# Units of the five times, ms; from memory of ISO 14230-2, table 4.
_UNITS_MS = {"P2min": 0.5, "P2max": 25.0, "P3min": 0.5, "P3max": 250.0, "P4min": 0.5}


def decode(payload: bytes) -> Decoded:
    """Read one message. Raises PeerError with reason `empty` or `short_negative`, and for nothing else."""
    facts = head(payload)
    service = service_name(facts.service)
    if facts.negative:
        return refusal(payload, service, code_name(payload[2]))
    layout = (ANSWERS if facts.is_response else REQUESTS).get(facts.service)
    body = bytes(payload[1:])
    direction: Direction = "positive" if facts.is_response else "request"
    if layout is None:
        text = _line(service, direction, [hex_text(body)] if body else [])
        return Decoded(facts.service, service, direction, (), body, text)
    parts, rest, problem = layout.read(body)
    fields = tuple(Field(name, raw, value, _text(name, value, raw)) for name, raw, value in parts)
    text = _line(service, direction, [f"{field.name} {field.text}" for field in fields])
    text += problem_text(problem, rest)
    return Decoded(facts.service, service, direction, fields, rest, text, problem)


def describe(payload: bytes) -> str:
    """Say in one line what a message means; raises as `decode`."""
    return decode(payload).text


def _line(name: str, direction: str, details: list[str]) -> str:
    said = list_text(details)
    if direction == "positive":
        return f"{name}: positive, {said}" if said else f"{name}: positive"
    return f"{name}: {said}" if said else name


def _status(status: int) -> str:
    """Bits 6-5 how it is stored, bit 7 the warning lamp; the byte holds the rest (ISO 15031-6, from memory)."""
    lamp = ", warning lamp" if status & 0x80 else ""
    return f"0x{status:02X} {_STORAGE[status >> 5 & 3]}{lamp}"


def _time(name: str, value: int) -> str:
    """FF of a longest time is no limit; P2max counts 6400 ms in its low nibble above F0 (table 4, from memory)."""
    if name.endswith("max") and value == 0xFF:
        return "no limit"
    if name == "P2max" and value > 0xF0:
        return f"{(value & 0x0F) * 6400} ms"
    return f"{value * _UNITS_MS[name]:g} ms"


def _of(names: dict[int, str]) -> Callable[[int], str]:
    return lambda value: f"0x{value:02X} {names[value]}" if value in names else f"0x{value:02X}"


_TEXTS: dict[str, Callable[[Any], str]] = {
    "diagnosticMode": _of(SESSIONS),
    "timingParameterIdentifier": _of(TIMING_TASKS),
    "inputOutputControlParameter": _of(CONTROLS),
    "responseRequired": _of({0x01: "yes", 0x02: "no"}),
    "DTC": lambda value: dtc.format_code(value.to_bytes(2, "big")),
    "statusOfDTC": _status,
    "numberOfDTC": str,
    "groupOfDTC": _of({0x0000: "powertrain", 0x4000: "chassis", 0x8000: "body", 0xC000: "network", 0xFF00: "all"}),
}


def _text(name: str, value: Any, raw: bytes) -> str:
    written = _TEXTS.get(name)
    if written is not None:
        return written(value)
    if name in _UNITS_MS:
        return _time(name, value)
    if name == "identificationRecord" and len(raw) > 3 and all(0x20 <= byte <= 0x7E for byte in raw):
        return raw.decode("ascii")
    return hex_text(raw)
