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
from typing import Any, NoReturn

import msgspec

from witnessmark.errors import InputError
from witnessmark.mapping import place as places
from witnessmark.mapping.model import ConditionRead, ProtocolMap, WireCommand

HOLE = "{seconds}"
_ENCODER = msgspec.json.Encoder(order="deterministic")
_HEX = re.compile(r"(?:[0-9A-F]{2})+")
_ADDRESS = re.compile(r"[0-9A-F]{1,8}")
_MISTAKE = tuple[str, str, str]
"""Path, what is wrong, what was expected."""


def load(path: Path) -> ProtocolMap:
    """Read the map file at `path`. Raises InputError naming file, line, key and what was expected."""
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"cannot be read: {error.strerror}", place=str(path), hint="give the path of a protocol map file"
        ) from error
    except UnicodeDecodeError as error:
        raise InputError("is not UTF-8 text", place=str(path), hint="save it as UTF-8") from error
    return from_text(text, file=path.name)


def from_text(text: str, *, file: str = "map") -> ProtocolMap:
    """Read a map from JSON text. Raises as `load` does; `file` is the name in messages."""
    twice: list[str] = []
    try:
        document = json.loads(text, object_pairs_hook=lambda pairs: _pairs(pairs, twice))
    except (json.JSONDecodeError, RecursionError) as error:
        line = getattr(error, "lineno", 1)
        what = getattr(error, "msg", "nested too deep")
        raise InputError(
            f"this is not JSON: {what}", place=f"{file} line {line}", hint="check quotes, commas and brackets there"
        ) from error
    if twice:
        raise InputError(f"key {twice[0]!r} stands twice in one object", place=file, hint="keep one of them")
    lines = places.lines(text)
    return _read(document, file, lambda path: lines.get(path, 0))


def from_document(document: dict[str, Any], *, place: str = "map") -> ProtocolMap:
    """Read the plain form that `to_document` gave, as a journal keeps it. Raises InputError naming the key."""
    return _read(document, place, lambda _path: 0)


def to_document(protocol_map: ProtocolMap) -> dict[str, Any]:
    """Return the plain form: what was not given is not in it."""
    plain = msgspec.to_builtins(protocol_map)
    assert isinstance(plain, dict)
    return plain


def digest(protocol_map: ProtocolMap) -> str:
    """Return SHA-256, in hex, over the canonical JSON (RFC 8785) of the plain form."""
    return sha256(_ENCODER.encode(to_document(protocol_map))).hexdigest()


def _pairs(pairs: list[tuple[str, Any]], twice: list[str]) -> dict[str, Any]:
    names = [name for name, _ in pairs]
    twice.extend(name for name in names if names.count(name) > 1)
    return dict(pairs)


def _read(document: Any, file: str, line_of: Callable[[str], int]) -> ProtocolMap:
    try:
        protocol_map = msgspec.convert(document, ProtocolMap)
    except msgspec.ValidationError as error:
        what, _, path = str(error).partition(" - at ")
        _refuse(file, path.strip("`") or "$", what, "see the keys of a protocol map in DEVELOPERS.md", line_of)
    for path, what, hint in _mistakes(protocol_map):
        _refuse(file, path, what, hint, line_of)
    return protocol_map


def _refuse(file: str, path: str, what: str, hint: str, line_of: Callable[[str], int]) -> NoReturn:
    line = line_of(path)
    key = path.removeprefix("$").lstrip(".")
    where = f"{file} line {line}" if line else file
    raise InputError(what, place=f"{where}, {key}" if key else where, hint=hint)


def _mistakes(protocol_map: ProtocolMap) -> Iterator[_MISTAKE]:
    yield from _address(protocol_map)
    timing = protocol_map.timing
    for name in ("p2_ms", "p2_star_ms", "s3_ms"):
        if not 1 <= getattr(timing, name) <= 600_000:
            yield f"$.timing.{name}", f"{getattr(timing, name)} ms cannot be", "use whole milliseconds above 0"
    for index, known in enumerate(protocol_map.identification):
        at = f"$.identification[{index}]"
        yield from _identifier(f"{at}.identifier", known.identifier)
        yield from _hex(f"{at}.value", known.value)
    for index, condition in enumerate(protocol_map.conditions):
        yield from _condition(f"$.conditions[{index}]", condition)
    for index, command in enumerate(protocol_map.wire_commands):
        yield from _command(f"$.wire_commands[{index}]", command)
    yield from _unique("conditions", "name", [one.name for one in protocol_map.conditions])
    yield from _unique("wire_commands", "id", [one.id for one in protocol_map.wire_commands])


def _address(protocol_map: ProtocolMap) -> Iterator[_MISTAKE]:
    address = protocol_map.address
    if address.bits not in (11, 29):
        yield "$.address.bits", f"{address.bits} bits cannot be", "use 11 or 29"
        return
    for name in ("request", "answer", "functional"):
        value = getattr(address, name)
        if name == "functional" and not value:
            continue
        if not _ADDRESS.fullmatch(value) or int(value, 16) >> address.bits:
            yield f"$.address.{name}", f"{value!r} is no identifier of {address.bits} bits", "write hex like 7A0"


def _condition(at: str, condition: ConditionRead) -> Iterator[_MISTAKE]:
    yield from _identifier(f"{at}.identifier", condition.identifier)
    if condition.offset < 0:
        yield f"{at}.offset", f"{condition.offset} is below 0", "count bytes from 0, behind the identifier"
    if not 1 <= condition.length <= 8:
        yield f"{at}.length", f"{condition.length} bytes cannot be read as a number", "use 1 to 8"
    if condition.denominator <= 0:
        yield f"{at}.denominator", f"{condition.denominator} cannot divide", "use a whole number above 0"


def _command(at: str, command: WireCommand) -> Iterator[_MISTAKE]:
    if command.start.count(HOLE) > 1:
        yield f"{at}.start", "more than one hole", f"write {HOLE} once"
    yield from _hex(f"{at}.start", command.start.replace(HOLE, "00"))
    yield from _hex(f"{at}.stop", command.stop)
    if command.results:
        yield from _hex(f"{at}.results", command.results)
    if not 1 <= command.session <= 0x7F:
        yield f"{at}.session", f"{command.session} is no session", "use 1 to 127"
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


def _unique(group: str, key: str, names: list[str]) -> Iterator[_MISTAKE]:
    for index, name in enumerate(names):
        if name in names[:index]:
            yield f"$.{group}[{index}].{key}", f"{name!r} stands twice", "give each its own name"
