"""A procedure file, changed in one place at a time: every key that it has, in every way that spoils it.

The text of a good file flows in; changed texts flow out, each with the line and the key at which a mistake must be
named. Nothing here is random: the same file gives the same changes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

LINE = re.compile(r"(?P<key>[a-z_]+) = (?P<value>.+)")
QUANTITY = re.compile(r'"(?P<number>\d+(?:\.\d+)?) (?P<unit>bar|kPa|s|min|h|d|mL|L|N\.m|V|mm|km/h|%)"')
BAND = re.compile(r'low = "(?P<low>[^"]+)", high = "(?P<high>[^"]+)"')
WORDS = ("text", "opening", "note", "how", "energises", "title", "caution", "physical_fallback", "vehicle", "name")
"""Keys whose text is anybody's own words."""
MAY_BE_ZERO = ("limit",)
"""Bands of which an end may well be nothing, as of a speed or a level."""
NEEDED = (
    "format", "id", "title", "source", "vehicle", "armed_for", "physical_fallback", "name", "circuit", "torque",
    "text", "how", "energises", "nipples", "seconds", "seconds_tolerance", "order", "order_tolerance", "overlap",
    "pressure_age", "what", "unit", "bore", "length", "on_time", "window",
)  # fmt: skip
"""Keys that are missed wherever they stand in the shipped files."""


@dataclass(frozen=True, slots=True)
class Change:
    """A changed text; a mistake must be named at `line` (0: at that line or the head of its table) and name `key`."""

    what: str
    text: str
    line: int
    key: str

    def __str__(self) -> str:
        return f"{self.line}: {self.what}"


def changes(text: str) -> Iterator[Change]:
    """Return every changed text."""
    lines = text.split("\n")
    table = ""
    for index, line in enumerate(lines):
        if line.startswith("["):
            table = line.strip("[]")
        found = LINE.fullmatch(line)
        if found is None or line.startswith("#"):
            continue
        key = found["key"]
        for what, changed, there in _of_line(key, found["value"], table, lines, index):
            other = [*lines[:index], *([changed] if changed is not None else []), *lines[index + 1 :]]
            yield Change(f"{table} {key}: {what}", "\n".join(other), index + 1 if there else 0, key)


def _of_line(key: str, value: str, table: str, lines: list[str], at: int) -> Iterator[tuple[str, str | None, bool]]:
    """Return what is done to line `at`, the line after it (None: taken out), and whether the mistake stands there."""
    yield "a key that is not known", f"{key}x = {value}", True
    if value != "[":
        yield "of another kind", f"{key} = 12", True
    if key in NEEDED:
        yield "taken out", None, False
    if value.startswith('"'):
        yield "empty", f'{key} = ""', True
        yield "blank", f'{key} = "  "', True
    if value.startswith("["):
        yield "with an empty one", f'{key} = ["", {value[1:]}', True
    if value in ("true", "false"):
        yield "text", f'{key} = "{value}"', True
    if key not in WORDS:
        yield from _figures(key, value)
        yield from _names(key, value, table, lines, at)


def _figures(key: str, value: str) -> Iterator[tuple[str, str, bool]]:
    for found in QUANTITY.finditer(value):
        before, after = value[: found.start()], value[found.end() :]
        number, unit = found["number"], found["unit"]
        other = "mL" if unit == "V" else "V"
        yield f"{number} {unit} in {other}", f'{key} = {before}"{number} {other}"{after}', True
        yield f"{number} {unit} without a number", f'{key} = {before}"some {unit}"{after}', True
        yield f"{number} without a unit", f'{key} = {before}"{number}"{after}', True
        band = "low" if before.endswith("low = ") else "high" if before.endswith("high = ") else ""
        if key not in MAY_BE_ZERO and band != "low":
            yield f"0 {unit}", f'{key} = {before}"0 {unit}"{after}', True
        if key not in MAY_BE_ZERO:
            yield f"-{number} {unit}", f'{key} = {before}"-{number} {unit}"{after}', True
    for found in BAND.finditer(value):
        before, after = value[: found.start()], value[found.end() :]
        low, high = found["low"], found["high"]
        yield "ends exchanged", f'{key} = {before}low = "{high}", high = "{low}"{after}', True
        yield "ends the same", f'{key} = {before}low = "{low}", high = "{low}"{after}', True
    if value.startswith("{"):
        yield "no end", f"{key} = {{}}", True


def _names(key: str, value: str, table: str, lines: list[str], at: int) -> Iterator[tuple[str, str, bool]]:
    """Words and names of other things, misspelt; a name that another has."""
    if key in ("affects", "act", "order", "person", "unit", "fluid", "fluid_class", "format"):
        yield "misspelt", f'{key} = "{value.strip(chr(34))}q"', True
    if key in ("said_by", "bottle_with"):
        yield "of nothing", f'{key} = "nothing"', True
    if key in ("nipples", "nipples_may_be_open_together", "also", "wire_commands", "codes_set_by_work"):
        yield "one misspelt", f"{key} = {value.replace(chr(34), chr(34) + 'q', 1)}", True
        if key != "nipples_may_be_open_together":
            first = value[1:].split(",")[0].rstrip("]")
            yield "one twice", f"{key} = [{first}, {value[1:]}", True
    if key == "choices" and 'affects = "fluid-grade"' in lines[at - 3 : at]:
        yield "without the fluid", f'{key} = ["DOT 3", "not known"]', True
    if key == "id" and table:
        yield "with a space", f'{key} = "{value.strip(chr(34))} x"', True
    if key == "id" and table and (others := _others(table, value, lines)):
        yield "of another", f'{key} = "{others[0]}"', False


def _others(table: str, value: str, lines: list[str]) -> list[str]:
    """Return the names of the others of a table."""
    found = []
    for index, line in enumerate(lines):
        if line == f"[[{table}]]" and lines[index + 1].startswith("id = ") and lines[index + 1] != f"id = {value}":
            found.append(lines[index + 1].partition(" = ")[2].strip('"'))
    return found
