"""What fits on a screen: blocks of text and lines of keys flow in, exactly as many rows as there are flow out.

Rules that hold here: the keys always stand, whole, at the bottom; what does not fit is on a further page, which a row
says, and where no page can be turned a row says that something is cut off.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

CUT = "..."
LEAST_BODY = 3


@dataclass(frozen=True, slots=True)
class Block:
    """One paragraph, its lines under each other. `kept` leaves them as they are (a drawing)."""

    text: str
    style: str = ""
    kept: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    text: str
    style: str = ""


def wrapped(block: Block, width: int) -> list[Row]:
    """Return a block as rows."""
    lines = block.text.splitlines()
    if block.kept:
        return [Row(line[:width], block.style) for line in lines]
    return [Row(part, block.style) for line in lines for part in textwrap.wrap(line, width, subsequent_indent="  ")]


def shortened(text: str, width: int) -> str:
    """Return the text, cut with a sign where it is longer than `width`."""
    return text if len(text) <= width else text[: max(0, width - len(CUT))].rstrip() + CUT


def key_rows(items: list[str], width: int, most: int) -> list[str]:
    """Return the keys in rows, as many on each as fit; labels are shortened rather than a key left out."""
    longest = width
    while True:
        rows: list[str] = []
        for item in (shortened(one, longest) for one in items):
            if rows and len(rows[-1]) + 3 + len(item) <= width:
                rows[-1] += "   " + item
            else:
                rows.append(item)
        if len(rows) <= most or longest <= len("[x] ab") + len(CUT):
            return rows
        longest -= 4


def pages(blocks: list[Block], width: int, rows: int, turns: bool) -> list[list[Row]]:
    """Return the pages of the body, each of at most `rows` rows; one page where none can be turned."""
    gap = [Row("")]
    parts = [part for block in blocks if (part := wrapped(block, width))]
    loose = [row for part in parts for row in (*part, *gap)][:-1]
    if len(loose) <= rows:
        return [loose]
    tight = [row for part in parts for row in part]
    if len(tight) <= rows:
        return [tight]
    if not turns:
        return [[*tight[: rows - 1], Row(f"{CUT} cut off: the screen is too small", "dim")]]
    each = max(1, rows - 1)
    cut = [tight[start : start + each] for start in range(0, len(tight), each)]
    more = [Row(f"-- page {number} of {len(cut)}: [m] more --", "bold") for number in range(1, len(cut) + 1)]
    return [[*page, sign] for page, sign in zip(cut, more, strict=True)]
