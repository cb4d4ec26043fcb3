"""What an author has still to fill in: values that begin with FILL IN and say what belongs there, and empty ones.

The plain form of a procedure flows in, a mistake for each such value flows out. Rules that hold here: a document with
one left is not finished, whatever else is right in it; nothing is worked by it; an empty value says nothing, and
whoever wrote the key meant something by it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from witnessmark.document.mistake import Mistake, Path

FILL_IN = "FILL IN"


def unfilled(part: Any, path: Path = ()) -> Iterator[Mistake]:
    """Return a mistake for every value in `part` of a document, at `path`, that was never filled in."""
    if isinstance(part, dict):
        for key, value in part.items():
            yield from unfilled(value, (*path, key))
    elif isinstance(part, list | tuple):
        for index, value in enumerate(part):
            yield from unfilled(value, (*path, index))
    elif isinstance(part, str) and part.strip().startswith(FILL_IN):
        wanted = part.strip().removeprefix(FILL_IN).lstrip(": ").strip()
        yield Mistake(path, "this is not filled in yet", wanted or "say what the maker publishes")


def empty(part: Any, path: Path = ()) -> Iterator[Mistake]:
    """Return a mistake for every value in `part` of a document, at `path`, that is empty: text, a list or a table."""
    if isinstance(part, dict) and (part or not path):
        for key, value in part.items():
            yield from empty(value, (*path, key))
    elif isinstance(part, list | tuple) and part:
        for index, value in enumerate(part):
            yield from empty(value, (*path, index))
    elif part in ({}, [], ()) or (isinstance(part, str) and not part.strip()):
        yield Mistake(path, "this is empty", "fill it in; what the procedure does not need is left out with its key")
