"""Read a protocol map from its JSON file or from the copy kept in a journal; give its plain form and digest.

Rules that hold here: a mistake is named with its line and key and what was expected; reading the plain form gives the
same map; the digest is SHA-256 over the canonical JSON of the plain form, so that layout does not count. A map may
describe what is never sent: sending is refused elsewhere, showing is not.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any, Final, NoReturn, TypeVar

import msgspec

from witnessmark.errors import InputError
from witnessmark.mapping import place as places
from witnessmark.mapping.fact_mistakes import fact_mistakes, functional_mistakes
from witnessmark.mapping.measured_mistakes import measured_mistakes
from witnessmark.mapping.model import AddressPair, ConditionRead, ProtocolMap, VehicleMap, WireCommand
from witnessmark.mapping.silent import FORM
from witnessmark.talk.keepalive import REQUESTS

HOLE = "{seconds}"
VEHICLE_FORMAT: Final = "witnessmark-vehicle-map/1"
Map = TypeVar("Map", ProtocolMap, VehicleMap)
_ENCODER = msgspec.json.Encoder(order="deterministic")
_HEX = re.compile(r"(?:[0-9A-F]{2})+")
_STRING = re.compile(r'"(?:[^"\\]|\\.)*"')
_KEEP_ALIVE = tuple(one.hex().upper() for one in REQUESTS)
_UNKNOWN = re.compile(r"Object contains unknown field `(.*)`", re.DOTALL)
_ADDRESS = re.compile(r"[0-9A-F]{1,8}")
_MISTAKE = tuple[str, str, str]
"""Path, what is wrong, what was expected."""


def load(path: Path) -> ProtocolMap:
    """Read the map of one control unit at `path`. Raises InputError naming file, line, key and what was expected."""
    return from_text(read_text(path), file=path.name)


def load_vehicle(path: Path) -> VehicleMap:
    """Read the map of a vehicle at `path`, or that of one unit as a vehicle of one. Raises as `load` does."""
    return vehicle_from_text(read_text(path), file=path.name)


def read_text(path: Path) -> str:
    """Return the text of a map file. Raises InputError when it cannot be read."""
    try:
        return path.read_text(encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"cannot be read: {error.strerror}", place=str(path), hint="give the path of a protocol map file"
        ) from error
    except UnicodeDecodeError as error:
        raise InputError("is not UTF-8 text", place=str(path), hint="save it as UTF-8") from error


def from_text(text: str, *, file: str = "map") -> ProtocolMap:
    """Read a map from JSON text. Raises as `load` does; `file` is the name in messages."""
    document, line_of = _parse(text, file)
    if isinstance(document, dict) and document.get("format") == VEHICLE_FORMAT:
        raise InputError(
            "this is the map of a whole vehicle",
            place=file,
            hint="take one control unit out of it with `witnessmark protocol take`",
        )
    return _read(document, file, line_of)


def vehicle_from_text(text: str, *, file: str = "map") -> VehicleMap:
    """Read the map of a vehicle from JSON text, or that of one unit as a vehicle of one. Raises as `load` does."""
    document, line_of = _parse(text, file)
    if not isinstance(document, dict) or document.get("format") != VEHICLE_FORMAT:
        unit = _read(document, file, line_of)
        return VehicleMap(
            format=VEHICLE_FORMAT, id=unit.id, title=unit.title, source=unit.source, invented=unit.invented,
            units=(unit,), evidence=unit.evidence,
        )  # fmt: skip
    vehicle = _convert(document, VehicleMap, file, line_of)
    for index, functional in enumerate(vehicle.functional):
        for path, what, hint in functional_mistakes(index, functional):
            _refuse(file, path, what, hint, line_of)
    for index, asked in enumerate(vehicle.silent):
        if not FORM.fullmatch(asked):
            _refuse(file, f"$.silent[{index}]", f"{asked!r} is no address", "write hex like 7E1 or 7E1-7E7", line_of)
    for index, unit in enumerate(vehicle.units):
        for path, what, hint in _mistakes(unit):
            _refuse(file, f"$.units[{index}]{path[1:]}", what, hint, line_of)
    return vehicle


def _parse(text: str, file: str) -> tuple[Any, Callable[[str], int]]:
    twice: list[str] = []
    try:
        document = json.loads(text, object_pairs_hook=lambda pairs: _pairs(pairs, twice))
    except (json.JSONDecodeError, RecursionError) as error:
        line = getattr(error, "lineno", 1)
        what = getattr(error, "msg", "nested too deep")
        raise InputError(
            f"this is not JSON: {what}", place=f"{file} line {line}", hint="check quotes, commas and brackets there"
        ) from error
    if half := _half_character(text):
        raise InputError("half of a character", place=f"{file} line {half}", hint="write the whole character, as UTF-8")
    if twice:
        raise InputError(f"key {twice[0]!r} stands twice in one object", place=file, hint="keep one of them")
    lines = places.lines(text)
    return document, lambda path: lines.get(path, 0)


def _half_character(text: str) -> int:
    """Return the line of a string with half of a UTF-16 pair, which JSON can write and no file can hold; 0 for none."""
    for found in _STRING.finditer(text) if "\\ud" in text.lower() else ():
        try:
            json.loads(found[0]).encode()
        except UnicodeEncodeError:
            return text.count("\n", 0, found.start()) + 1
    return 0


def from_document(document: dict[str, Any], *, place: str = "map") -> ProtocolMap:
    """Read the plain form that `to_document` gave, as a journal keeps it. Raises InputError naming the key."""
    return _read(document, place, lambda _path: 0)


def to_document(protocol_map: ProtocolMap | VehicleMap) -> dict[str, Any]:
    """Return the plain form: what was not given is not in it."""
    plain = msgspec.to_builtins(protocol_map)
    assert isinstance(plain, dict)
    return plain


def digest(protocol_map: ProtocolMap) -> str:
    """Return SHA-256, in hex, over the canonical JSON (RFC 8785) of the plain form."""
    return sha256(_ENCODER.encode(to_document(protocol_map))).hexdigest()


def to_text(protocol_map: ProtocolMap | VehicleMap) -> str:
    """Return the text of a map file."""
    return json.dumps(to_document(protocol_map), indent=1, ensure_ascii=False) + "\n"


def _pairs(pairs: list[tuple[str, Any]], twice: list[str]) -> dict[str, Any]:
    names = [name for name, _ in pairs]
    twice.extend(name for name in names if names.count(name) > 1)
    return dict(pairs)


def _read(document: Any, file: str, line_of: Callable[[str], int]) -> ProtocolMap:
    protocol_map = _convert(document, ProtocolMap, file, line_of)
    for path, what, hint in _mistakes(protocol_map):
        _refuse(file, path, what, hint, line_of)
    return protocol_map


def _convert(document: Any, kind: type[Map], file: str, line_of: Callable[[str], int]) -> Map:
    try:
        return msgspec.convert(document, kind)
    except msgspec.ValidationError as error:
        what, _, path = str(error).partition(" - at ")
        path = path.strip("`") or "$"
        if unknown := _UNKNOWN.fullmatch(what):
            path = f"{path}.{unknown[1]}"
        _refuse(file, path, what, "docs/protocol-map.md tells the keys of a protocol map", line_of)


def _refuse(file: str, path: str, what: str, hint: str, line_of: Callable[[str], int]) -> NoReturn:
    path = path.removesuffix("[...]")  # a key of an object whose keys are free: the object's place
    line = line_of(path)
    key = path.removeprefix("$").lstrip(".")
    where = f"{file} line {line}" if line else file
    raise InputError(what, place=f"{where}, {key}" if key else where, hint=hint)


def _mistakes(protocol_map: ProtocolMap) -> Iterator[_MISTAKE]:
    yield from _address(protocol_map.address, bool(protocol_map.wire_commands))
    timing = protocol_map.timing
    for name in ("p2_ms", "p2_star_ms", "s3_ms"):
        if not 1 <= getattr(timing, name) <= 600_000:
            yield f"$.timing.{name}", f"{getattr(timing, name)} ms cannot be", "use whole milliseconds above 0"
    if timing.keep_alive and timing.keep_alive not in _KEEP_ALIVE:
        yield (
            "$.timing.keep_alive",
            f"{timing.keep_alive!r} is no request that keeps a session",
            f"use one of {', '.join(_KEEP_ALIVE)}",
        )
    for index, known in enumerate(protocol_map.identification):
        at = f"$.identification[{index}]"
        yield from _identifier(f"{at}.identifier", known.identifier)
        yield from _hex(f"{at}.value", known.value)
    for index, condition in enumerate(protocol_map.conditions):
        yield from _condition(f"$.conditions[{index}]", condition)
    for index, command in enumerate(protocol_map.wire_commands):
        yield from _command(f"$.wire_commands[{index}]", command)
    yield from fact_mistakes(protocol_map)
    yield from measured_mistakes(protocol_map)
    for group, key in _NAMED.items():
        yield from _unique(group, key, [getattr(one, key) for one in getattr(protocol_map, group)])
    read: list[str | int] = [f"{one.service} {one.identifier}" for one in protocol_map.identifiers]
    yield from _unique("identifiers", "identifier", read)


def _address(address: AddressPair, spoken_to: bool) -> Iterator[_MISTAKE]:
    wanted = _BITS[address.transport]
    if address.bits not in wanted:
        yield "$.address.bits", f"{address.bits} bits cannot be", f"use {' or '.join(map(str, wanted))}"
        return
    for name in ("request", "answer", "functional"):
        value = getattr(address, name)
        if not value and (name == "functional" or (name == "request" and not spoken_to)):
            continue
        if not _ADDRESS.fullmatch(value) or int(value, 16) >> address.bits:
            yield f"$.address.{name}", f"{value!r} is no identifier of {address.bits} bits", "write hex like 7A0"
    if address.header and address.transport != "iso14230":
        yield "$.address.header", "only messages of a K-line have such a header", "leave it out, or use iso14230"
    for name in ("extension", "request_extension"):
        value = getattr(address, name)
        if value and not re.fullmatch(r"[0-9A-F]{2}", value):
            yield f"$.address.{name}", f"{value!r} is no address byte", "write two hex digits"


_NAMED = {
    "identification": "identifier", "conditions": "name", "wire_commands": "id", "sessions": "session",
    "services": "service", "codes": "request", "candidates": "id",
}  # fmt: skip
_BITS = {"iso15765-2": (11, 29), "iso14230": (8,), "iso13400": (16,)}


def _condition(at: str, condition: ConditionRead) -> Iterator[_MISTAKE]:
    yield from _identifier(f"{at}.identifier", condition.identifier)
    if condition.offset < 0:
        yield f"{at}.offset", f"{condition.offset} is below 0", "count bytes from 0, behind the identifier"
    if not 1 <= condition.length <= 8:
        yield f"{at}.length", f"{condition.length} bytes cannot be read as a number", "use 1 to 8"
    if condition.denominator <= 0:
        yield f"{at}.denominator", f"{condition.denominator} cannot divide", "use a whole number above 0"
    if condition.numerator == 0:
        yield f"{at}.numerator", "0 makes every value 0", "use another whole number"


def _command(at: str, command: WireCommand) -> Iterator[_MISTAKE]:
    if not command.id.strip():
        yield f"{at}.id", "it has no name", "give it one that a procedure can write, like pump-rear"
    if command.start.count(HOLE) > 1:
        yield f"{at}.start", "more than one hole", f"write {HOLE} once"
    if command.start.find(HOLE) % 2 == 1 and HOLE in command.start:
        yield f"{at}.start", "the hole begins in the middle of a byte", f"{HOLE} takes the place of one whole byte"
    yield from _hex(f"{at}.start", command.start.replace(HOLE, "00"))
    yield from _hex(f"{at}.stop", command.stop)
    if command.results:
        yield from _hex(f"{at}.results", command.results)
    if not 1 <= command.session <= 0x7F:
        yield (
            f"{at}.session",
            f"{command.session} is no session that is entered from here",
            "use 1 to 127 (01 to 7F of ISO 14229-1): bit 7 asks for no answer there, and is part of the number only in "
            "ISO 14230-3",
        )
    if command.longest_s < 1:
        yield f"{at}.longest_s", f"{command.longest_s} s cannot be", "say how long the longest run may be"
    if command.cool_down_s < 0:
        yield f"{at}.cool_down_s", f"{command.cool_down_s} s cannot be", "use whole seconds from 0"
    if command.budget_ms < 1:
        yield f"{at}.budget_ms", f"{command.budget_ms} ms cannot be", "use whole milliseconds above 0"


def _hex(at: str, text: str) -> Iterator[_MISTAKE]:
    if not _HEX.fullmatch(text):
        yield at, f"{text!r} is not bytes", f"write upper-case hex like 31010301, or {HOLE} in a start"


def _identifier(at: str, text: str) -> Iterator[_MISTAKE]:
    if not re.fullmatch(r"[0-9A-F]{4}", text):
        yield at, f"{text!r} is no identifier", "write four hex digits like F190"


def _unique(group: str, key: str, names: list[str | int]) -> Iterator[_MISTAKE]:
    for index, name in enumerate(names):
        if name in names[:index]:
            yield f"$.{group}[{index}].{key}", f"{name!r} stands twice", "give each its own name"


def pick(vehicle: VehicleMap, answer: str) -> ProtocolMap:
    """Return the unit that answers on `answer` (hex), or the only one when it is empty. Raises InputError else."""
    found = [one for one in vehicle.units if not answer or one.address.answer.upper() == answer.upper()]
    if (not answer and len(found) > 1) or not found:
        known = ", ".join(one.address.answer for one in vehicle.units) or "none"
        what = f"no unit answers on {answer}" if answer else "there is more than one control unit in this map"
        what = what if vehicle.units else "there is no control unit in this map"
        raise InputError(what, place="unit", hint=f"units by the address of their answers: {known}")
    return found[0]
