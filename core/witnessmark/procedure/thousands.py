"""Quantities that may be read in two ways, a thousand times apart.

The plain form of a procedure that was written flows in, a mistake for each such value flows out.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from witnessmark import quantity
from witnessmark.document.mistake import Mistake, Path
from witnessmark.errors import InputError

THOUSANDS = re.compile(r"[1-9]\d{0,2},\d{3} \S+")
"""A quantity whose comma may stand before the thousandths, or between the thousands."""


def thousands(part: Any, path: Path = ()) -> Iterator[Mistake]:
    """Return a mistake for every quantity in `part` of a document, at `path`, whose comma may be either."""
    if isinstance(part, dict):
        for key, value in part.items():
            yield from thousands(value, (*path, key))
    elif isinstance(part, list | tuple):
        for index, value in enumerate(part):
            yield from thousands(value, (*path, index))
    elif isinstance(part, str) and THOUSANDS.fullmatch(part):
        try:
            value = quantity.parse(part, place="")
        except InputError:
            return
        whole = part.replace(",", "", 1)
        yield Mistake(path, f"{part} may be {value} or {whole}", f'write "{whole}", or the decimal mark as a point')
