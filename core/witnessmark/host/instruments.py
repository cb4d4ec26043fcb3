"""Until when the shop's instruments are calibrated: `instruments.toml` beside the journal.

The shop's folder flows in, a date for each instrument by the name that procedures use flows out. Rule that holds here:
what is not in the file is not known, and a job keeps what the file said when it was opened.
"""

from __future__ import annotations

import datetime
from pathlib import Path

from witnessmark.document.toml import read_toml
from witnessmark.errors import InputError

NAME = "instruments.toml"
EXAMPLE = '[calibrated_until]\n"torque wrench" = 2027-03-31\n'


def read(folder: Path) -> dict[str, str]:
    """Return instrument and date (YYYY-MM-DD); empty when the shop has no such file.

    Raises InputError naming what cannot be read.
    """
    path = folder / NAME
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"cannot be read: {error}", place=str(path), hint="save it as UTF-8") from error
    table = read_toml(text, NAME).get("calibrated_until")
    if not isinstance(table, dict):
        raise InputError("there is no table [calibrated_until]", place=NAME, hint=f"write\n{EXAMPLE}")
    return {name: _date(name, value) for name, value in table.items()}


def _date(name: str, value: object) -> str:
    try:
        found = value if isinstance(value, datetime.date) else datetime.date.fromisoformat(str(value))
    except ValueError:
        raise InputError(f"{value!r} is no date", place=f"{NAME}, {name}", hint="write 2027-03-31") from None
    return found.strftime("%Y-%m-%d")
