"""Plain tables on the command line, drawn by rich; cells are folded between words. A table that is wider than the
terminal all the same, or of which a cell would take more than a few lines, becomes a list."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console

    from witnessmark.mapping.show import Table

SMALL = 3
"""A table of so many columns is drawn as one however long its cells are: they are folded."""

MOST_LINES = 3


def draw(table: Table) -> None:
    """Print one table as wide as the terminal allows. Nothing is cut off."""
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table as RichTable

    console = Console()
    widths = _widths(table, console.width)
    if len(table.head) > SMALL and widths is None:
        _list(table, console)
        return
    shown = RichTable(title=escape(table.title), title_justify="left", box=SIMPLE_HEAD, show_header=any(table.head))
    for at, head in enumerate(table.head):
        shown.add_column(escape(head), overflow="fold", width=None if widths is None else widths[at])
    for row in table.rows:
        shown.add_row(*map(escape, row))
    console.print(shown)


def _list(table: Table, console: Console) -> None:
    """Print each row as a block: its first cell, then what the others say, empty ones left out."""
    from rich.markup import escape
    from rich.padding import Padding

    console.print(f"\n[bold]{escape(table.title)}[/bold]")
    for row in table.rows:
        console.print(f"  {escape(row[0])}", highlight=False)
        for head, cell in zip(table.head[1:], row[1:], strict=True):
            if cell:
                text = f"{head}: {cell}" if head else cell
                console.print(Padding(escape(text), (0, 0, 0, 6)), highlight=False)


def _widths(table: Table, width: int) -> list[int] | None:
    """Fold the widest column between its words until all fit; None where even the longest words do not.

    None too where a cell then takes more than MOST_LINES: what is long reads better as a list.
    """
    columns = list(zip(table.head, *table.rows, strict=True))
    least = [max(len(word) for cell in column for word in cell.split() or [""]) for column in columns]
    found = [max(map(len, column)) for column in columns]
    while sum(found) + 3 * len(found) + 1 > width:
        room = [have - need for have, need in zip(found, least, strict=True)]
        if not any(room):
            return None
        widest = max((at for at in range(len(found)) if room[at]), key=lambda at: found[at])
        found[widest] -= 1
    folded = (len(wrap(cell, size)) for row in table.rows for cell, size in zip(row, found, strict=True) if cell)
    return found if max(folded, default=0) <= MOST_LINES else None
