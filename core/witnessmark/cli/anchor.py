"""What somebody holds, as it is given on the command line: typed, pasted, or in a file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from witnessmark.journal.checkpoint import Anchor, Note

HINT = "give the QR's text or a checkpoint to the letter, a file with it, or COUNT HEAD of a sheet, like `41 9f3c...`"


def anchor(given: str) -> Anchor:
    """Return the anchor in `given` or in the file of that name. Raises InputError when it is none."""
    from witnessmark.errors import InputError
    from witnessmark.journal.checkpoint import parse_anchor

    try:
        return parse_anchor(text(given))
    except InputError as error:
        raise InputError(error.what, place="--anchor", hint=HINT) from error


def checkpoint(given: str) -> Note:
    """Return the signed checkpoint in `given`. Raises InputError when it is none, also for a count and head."""
    from witnessmark.errors import InputError

    found = anchor(given).note
    if found is None:
        raise InputError(
            "a count and head stand for one job", place="--anchor", hint="give a checkpoint, or use verify"
        )
    return found


def text(given: str) -> str:
    """Return the text itself, or what stands in the file of that name. Raises InputError for a file not of text."""
    from witnessmark.errors import InputError

    try:
        path = Path(given)
        return path.read_text(encoding="utf-8") if path.is_file() else given
    except UnicodeDecodeError as error:
        raise InputError(f"{given} is no text", place="file", hint=HINT) from error
    except (OSError, ValueError):
        return given  # too long, or with signs that no file name has: it is the text itself
