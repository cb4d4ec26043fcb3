"""Make the files of this folder anew: `python -m tests.tampered.make`. It never touches expected.json."""

from __future__ import annotations

from pathlib import Path

from tests.tampered.forge import Honest, history
from tests.tampered.kinds import KINDS

FILES = Path(__file__).parent / "files"


def made() -> dict[str, bytes]:
    """Return every file by its name: the two sheets that the customer holds, and a file for each kind."""
    honest: Honest = history()
    files = {f"{name}.evidence.json": make(honest) for name, make in KINDS.items()}
    return files | {"sheet.txt": honest.sheet.encode(), "last.txt": honest.last.encode()}


if __name__ == "__main__":
    for name, data in made().items():
        (FILES / name).write_bytes(data)
