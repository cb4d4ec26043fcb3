"""TOML text read into a plain document, with the line where it is not TOML."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from witnessmark.errors import InputError

_HEADER = re.compile(r"\s*(\[\[?)\s*([\w-]+)\s*\]\]?\s*(#.*)?")


def read_toml(text: str, file: str) -> dict[str, Any]:
    """Return the plain document of a TOML text. Raises InputError naming the line where it is not TOML."""
    try:
        return tomllib.loads(text.removeprefix("\ufeff"))
    except tomllib.TOMLDecodeError as error:
        if single := _single(text):
            name, at = single
            raise InputError(
                f"[{name}] stands in single brackets, and there are several of it",
                place=f"{file} line {', '.join(map(str, at))}", hint=f"write each as [[{name}]]",
            ) from error  # fmt: skip
        place = re.search(r"at line (\d+)", str(error))
        what = re.sub(r" \(at (line.*|end of document)\)$", "", str(error))
        where = f"{file} line {place.group(1)}" if place else f"{file}, end"
        raise InputError(
            f"this is not TOML: {what}", place=where, hint='keys are written key = "text", tables [name] or [[name]]'
        ) from error


def _single(text: str) -> tuple[str, list[int]] | None:
    """Return a name whose blocks are several and the lines on which it stands in single brackets; None for none."""
    found: dict[str, dict[str, list[int]]] = {}
    for number, line in enumerate(text.split("\n"), 1):
        if header := _HEADER.fullmatch(line):
            found.setdefault(header[2], {}).setdefault(header[1], []).append(number)
    several = ((name, one["["]) for name, one in found.items() if "[" in one and sum(map(len, one.values())) > 1)
    return next(several, None)
