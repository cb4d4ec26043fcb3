"""Plain tables on the command line, drawn by rich; one that is wider than the terminal becomes a list."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console

    from witnessmark.mapping.show import Table

SMALL = 3
"""A table of so many columns is drawn as one however long its cells are: they are folded."""


def draw(table: Table) -> None:
    """Print one table as wide as the terminal allows. Nothing is cut off."""
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table as RichTable

    console = Console()
    if len(table.head) > SMALL and _width(table) > console.width:
        _list(table, console)
        return
    shown = RichTable(title=escape(table.title), title_justify="left", box=SIMPLE_HEAD, show_header=any(table.head))
    for head in table.head:
        shown.add_column(escape(head), overflow="fold")
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


def _width(table: Table) -> int:
    columns = zip(table.head, *table.rows, strict=True)
    return sum(max(map(len, column)) + 3 for column in columns)
