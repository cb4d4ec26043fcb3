"""The recordings of `tests/captures` as plain frames: just enough reading for tests of the layers below `recording`."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

CAPTURES = Path(__file__).parent.parent / "captures"


def frames(name: str) -> Iterator[tuple[str, bytes, int]]:
    """Yield (identifier in hex, data, stamp in ns) of each frame of one recording."""
    for line in (CAPTURES / name).read_text(encoding="ascii").splitlines():
        stamp, _, frame = line.split()
        seconds, fraction = stamp.strip("()").split(".")
        can_id, _, data = frame.partition("#")
        yield can_id, bytes.fromhex(data), int(seconds) * 10**9 + int(fraction.ljust(9, "0"))


def expected(name: str) -> dict[str, Any]:
    """Return what the manifest says is to be found in one recording."""
    manifest = json.loads((CAPTURES / "manifest.json").read_text(encoding="ascii"))
    return next(file["expected"] for file in manifest["files"] if file["file"] == name)
