"""What somebody holds, as it is given on the command line: typed, pasted, or in a file."""

from __future__ import annotations

import codecs
import re
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from witnessmark.journal.checkpoint import Anchor, Note, PublicKey

HINT = "give the QR's text or a checkpoint to the letter, a file with it, or COUNT HEAD of a sheet, like `41 9f3c...`"
KEY_HINT = "give the line NAME+ID+KEY that `witnessmark key show` prints, or a file that begins with it"
_TYPED = re.compile(r"\s*[0-9][0-9a-zA-Z\s,:/-]*")
"""What may be a count and head, rightly typed or not: never taken for a file's name."""


def anchor(given: str, option: str = "--anchor") -> Anchor:
    """Return the anchor in `given` or in the file of that name. Raises InputError, naming which, when it is none."""
    from witnessmark.errors import InputError
    from witnessmark.journal.checkpoint import parse_anchor

    place, said = _text(given, option, HINT)
    if place == option and not _TYPED.fullmatch(said) and "\n" not in said.strip():
        raise InputError(f"{given!r} is no file here, and it is no anchor itself", place=place, hint=HINT)
    try:
        return parse_anchor(said)
    except InputError as error:
        raise InputError(error.what, place=place, hint=HINT) from error


def checkpoint(given: str) -> Note:
    """Return the signed checkpoint in `given`. Raises InputError when it is none, also for a count and head."""
    from witnessmark.errors import InputError

    found = anchor(given).note
    if found is None:
        raise InputError(
            "a count and head stand for one job", place="--anchor", hint="give a checkpoint, or use verify"
        )
    return found


def key(given: str, option: str = "--key") -> PublicKey:
    """Return the public key in `given`, or on the first line of the file of that name. Raises InputError."""
    from witnessmark.errors import InputError
    from witnessmark.journal.checkpoint import parse_key

    place, said = _text(given, option, KEY_HINT)
    first = said.strip().partition("\n")[0].strip()
    if place == option and "+" not in first:
        raise InputError(f"{given!r} is no file here, and it is no public key itself", place=place, hint=KEY_HINT)
    try:
        return parse_key(first, place=place)
    except InputError as error:
        raise InputError(f"it is not a public key: {error.what}", place=place, hint=KEY_HINT) from error


def _text(given: str, option: str, hint: str) -> tuple[str, str]:
    """Return where it stands (the option or the file) and the text. Raises InputError for what holds no text."""
    from witnessmark.errors import InputError

    if not given.strip():
        raise InputError("it is empty", place=option, hint=hint)
    try:
        path = Path(given)
        if not path.exists():
            return option, given.lstrip("\ufeff")
    except (OSError, ValueError):
        return option, given  # too long, or with signs that no file name has: it is the text itself
    if path.is_dir():
        raise InputError("that is a folder", place=given, hint=hint)
    try:
        said = _decoded(path.read_bytes())
    except OSError as error:
        raise InputError(f"it cannot be read: {error.strerror}", place=given, hint="check its rights") from error
    except UnicodeDecodeError as error:
        raise InputError("it is not text", place=given, hint=hint) from error
    if not said.strip():
        raise InputError("it is empty", place=given, hint=hint)
    return given, said


def _decoded(data: bytes) -> str:
    """Return a file's text, its byte order mark taken off: editors write it before UTF-8, some shells UTF-16."""
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return data.decode("utf-16")
    return data.decode("utf-8-sig")
