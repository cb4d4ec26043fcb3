"""TOML text read into a plain document, with the line where it is not TOML."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from witnessmark.errors import InputError


def read_toml(text: str, file: str) -> dict[str, Any]:
    """Return the plain document of a TOML text. Raises InputError naming the line where it is not TOML."""
    try:
        return tomllib.loads(text.removeprefix("\ufeff"))
    except tomllib.TOMLDecodeError as error:
        place = re.search(r"at line (\d+)", str(error))
        what = re.sub(r" \(at (line.*|end of document)\)$", "", str(error))
        where = f"{file} line {place.group(1)}" if place else f"{file}, end"
        raise InputError(
            f"this is not TOML: {what}", place=where, hint='keys are written key = "text", tables [name] or [[name]]'
        ) from error
