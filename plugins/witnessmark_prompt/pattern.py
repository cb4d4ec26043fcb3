"""How a line is written or read: plain text with named fields, `HEARD {id:3} LONG {length} BODY {data}`.

Fields: `id` (hex), `data` (hex bytes), `length` (decimal; `{length:2x}` two hex digits), `sum` (hex), `time` (decimal),
`request`, `answer` (hex, when an address is set), `any` (anything, reading only). `{name:3}` is exactly three
characters. A blank stands for one or more blanks. Rules that hold here: nothing else has a special meaning, so a
manual's wording can be copied in; a pattern whose fields run into each other is refused.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from witnessmark.errors import InputError

FIELDS = ("id", "data", "length", "sum", "time", "request", "answer", "any")
_HEX = ("id", "sum", "request", "answer")
_FIELD = re.compile(r"\{([a-z]*)(?::(\d{0,2})(x?))?\}")
Use = Literal["write", "read"]


@dataclass(frozen=True, slots=True)
class Field:
    """One field: `width` 0 is as long as it is; `hexadecimal` says how `length` is counted."""

    name: str
    width: int = 0
    hexadecimal: bool = False


@dataclass(frozen=True, slots=True)
class Pattern:
    """A pattern taken apart: text and fields in order. `gap` stands between the bytes of `data`."""

    parts: tuple[str | Field, ...]
    expression: re.Pattern[str]
    gap: str = ""

    @property
    def fields(self) -> tuple[str, ...]:
        return tuple(part.name for part in self.parts if isinstance(part, Field))

    def read(self, line: str) -> dict[str, str] | None:
        """Return the fields of a line, or None when it is no such line."""
        found = self.expression.fullmatch(line)
        return None if found is None else found.groupdict()

    def write(self, values: dict[str, int | bytes]) -> str:
        """Return the line with these values; a `sum` is left to `fill_sum` as `{sum}`."""
        return "".join(part if isinstance(part, str) else self._write_field(part, values) for part in self.parts)

    def number(self, name: str, text: str) -> int:
        """Return the number that a field's text stands for."""
        field = next(part for part in self.parts if isinstance(part, Field) and part.name == name)
        return int(text, 16 if field.name in _HEX or field.hexadecimal else 10)

    def payload(self, text: str) -> bytes:
        """Return the bytes of a `data` field. Raises ValueError for half a byte."""
        return bytes.fromhex(text.replace(self.gap, "") if self.gap else text)

    def _write_field(self, field: Field, values: dict[str, int | bytes]) -> str:
        if field.name == "sum":
            return "{sum}"
        value = values[field.name]
        if isinstance(value, bytes):
            return value.hex(self.gap).upper() if self.gap else value.hex().upper()
        if field.name in _HEX or field.hexadecimal:
            return f"{value:0{field.width}X}"
        return f"{value:0{field.width}d}"


def parse_pattern(text: str, *, use: Use, place: str, allowed: tuple[str, ...], gap: str = "") -> Pattern:
    """Read a pattern.

    Raises InputError naming `place` for an unknown field, a field twice, or fields that run into each other.
    """
    parts: list[str | Field] = []
    at = 0
    for found in _FIELD.finditer(text):
        parts += [text[at : found.start()]] if found.start() > at else []
        parts.append(_field(found, place, allowed))
        at = found.end()
    parts += [text[at:]] if at < len(text) else []
    for part in parts:
        if isinstance(part, str) and ("{" in part or "}" in part):
            raise InputError(
                f"a brace without its field in {part!r}", place=place, hint=f"write fields as {_list_fields(allowed)}"
            )
    names = [part.name for part in parts if isinstance(part, Field)]
    for name in names:
        if names.count(name) > 1:
            raise InputError(f"field {{{name}}} stands twice", place=place, hint="keep one of them")
    for before, after in pairwise(parts):
        if use == "read" and isinstance(before, Field) and isinstance(after, Field) and not before.width:
            raise InputError(
                f"{{{before.name}}} and {{{after.name}}} run into each other",
                place=place,
                hint=f"give the first its width, like {{{before.name}:3}}, or put text between them",
            )
    expression = "".join(_plain(part) if isinstance(part, str) else _expect(part, gap) for part in parts)
    return Pattern(tuple(parts), re.compile(expression), gap)


def _field(found: re.Match[str], place: str, allowed: tuple[str, ...]) -> Field:
    if found[1] not in allowed:
        raise InputError(f"{found[0]} is not a field here", place=place, hint=f"fields here: {_list_fields(allowed)}")
    return Field(found[1], int(found[2] or 0), bool(found[3]))


def _list_fields(allowed: tuple[str, ...]) -> str:
    return ", ".join(f"{{{name}}}" for name in allowed) or "none"


def _plain(text: str) -> str:
    return " +".join(re.escape(word) for word in re.split(" +", text))


def _expect(field: Field, gap: str) -> str:
    count = f"{{{field.width}}}" if field.width else "+"
    if field.name == "any":
        return f".{count if field.width else '*'}"
    if field.name == "data":
        inner = f"[0-9A-Fa-f{re.escape(gap)}]" if gap else "[0-9A-Fa-f]"
        return f"(?P<data>{inner}{count if field.width else '*'})"
    return f"(?P<{field.name}>[0-9{'A-Fa-f' if field.name in _HEX or field.hexadecimal else ''}]{count})"
