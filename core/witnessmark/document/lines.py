"""The line on which each key of a TOML text stands.

The text flows in (already read without error by `tomllib`), a map from path to line flows out. Rules that hold here:
lines count from 1; a key inside a value written on several lines has the line of the key that the value belongs to;
what is not found has the line of the nearest part of the document around it, 0 when there is none.
"""

from __future__ import annotations

import re

from witnessmark.document.mistake import Path

_PART = r"\"(?:[^\"\\]|\\.)*\"|'[^']*'|[A-Za-z0-9_-]+"
_NAME = re.compile(rf"\s*({_PART})\s*")
_OPEN = {"[": "]", "{": "}"}


def lines(text: str) -> dict[Path, int]:
    """Return the line of every table header and every key at the start of a line."""
    found: dict[Path, int] = {}
    table: Path = ()
    counts: dict[Path, int] = {}
    rest = text
    line = 1
    while rest:
        head, _, after = rest.partition("\n")
        stripped = head.strip()
        if stripped.startswith("["):
            table = _header(stripped, counts)
            found.setdefault(table, line)
            taken = len(head) + 1
        elif not stripped or stripped.startswith("#"):
            taken = len(head) + 1
        else:
            names, start = _names(rest)
            for end in range(1, len(names) + 1):
                found.setdefault((*table, *names[:end]), line)
            taken = _value_end(rest, start)
        line += rest.count("\n", 0, taken)
        rest = rest[taken:] if taken <= len(head) + len(after) + 1 else ""
    return found


def line_of(path: Path, found: dict[Path, int]) -> int:
    """Return the line of `path`, or of the nearest part around it; 0 when nothing around it has one."""
    for end in range(len(path), 0, -1):
        if path[:end] in found:
            return found[path[:end]]
    return 0


def _header(text: str, counts: dict[Path, int]) -> Path:
    """Return the path of `[a.b]` or `[[a.b]]`, entering the latest element of each list of tables on the way."""
    many = text.startswith("[[")
    names, _ = _names(text.lstrip("["))
    path: Path = ()
    for index, name in enumerate(names):
        path = (*path, name)
        if many and index == len(names) - 1:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = (*path, counts[path])
    return path


def _names(text: str) -> tuple[list[str], int]:
    """Return the parts of a dotted key at the start of `text` and where the key ends."""
    names: list[str] = []
    at = 0
    while match := _NAME.match(text, at):
        part = match.group(1)
        names.append(part[1:-1] if part[0] in "\"'" else part)
        at = match.end()
        if text[at : at + 1] != ".":
            break
        at += 1
    return names, at


def _value_end(text: str, at: int) -> int:
    """Return where the line ends on which the value that starts after the key ends."""
    depth = 0
    while at < len(text):
        mark = text[at]
        if mark in "\"'":
            at = _string_end(text, at)
            continue
        if mark == "#":
            at = _line_end(text, at)
            continue
        if mark == "\n" and depth == 0:
            return at + 1
        depth += (mark in _OPEN) - (mark in _OPEN.values())
        at += 1
    return at


def _string_end(text: str, at: int) -> int:
    quote = text[at]
    fence = quote * 3 if text.startswith(quote * 3, at) else quote
    at += len(fence)
    while at < len(text) and not text.startswith(fence, at):
        at += 2 if text[at] == "\\" and quote == '"' else 1
    at += len(fence)
    while len(fence) == 3 and text.startswith(quote, at):
        at += 1
    return at


def _line_end(text: str, at: int) -> int:
    end = text.find("\n", at)
    return len(text) if end < 0 else end
