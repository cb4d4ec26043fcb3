"""Where in a JSON text each value stands: its line, by its path as msgspec names it (`$.wire_commands[0].start`).

A text that the standard library reads flows in, a table of lines flows out.
"""

from __future__ import annotations

import json
import re
from bisect import bisect_left
from typing import Any


def lines(text: str) -> dict[str, int]:
    """Return the line, from 1, of every value in a JSON text that is known to be well formed."""
    starts: dict[str, int] = {}
    _value(text, 0, "$", starts)
    ends = [one.start() for one in re.finditer("\n", text)]
    return {path: bisect_left(ends, at) + 1 for path, at in starts.items()}


def _value(text: str, at: int, path: str, found: dict[str, int]) -> int:
    at = _skip(text, at)
    found[path] = at
    if text[at] == "{":
        return _object(text, at, path, found)
    if text[at] == "[":
        return _array(text, at, path, found)
    _, end = _DECODER.raw_decode(text, at)
    return int(end)


def _object(text: str, at: int, path: str, found: dict[str, int]) -> int:
    at = _skip(text, at + 1)
    while text[at] != "}":
        name, at = _DECODER.raw_decode(text, at)
        at = _value(text, _skip(text, at) + 1, f"{path}.{name}", found)
        at = _skip(text, at)
        if text[at] == ",":
            at = _skip(text, at + 1)
    return at + 1


def _array(text: str, at: int, path: str, found: dict[str, int]) -> int:
    at = _skip(text, at + 1)
    index = 0
    while text[at] != "]":
        at = _skip(text, _value(text, at, f"{path}[{index}]", found))
        index += 1
        if text[at] == ",":
            at = _skip(text, at + 1)
    return at + 1


def _skip(text: str, at: int) -> int:
    while text[at] in " \t\r\n":
        at += 1
    return at


_DECODER: Any = json.JSONDecoder()
