"""Plain tables on the command line, drawn by rich."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from witnessmark.mapping.show import Table


def draw(table: Table) -> None:
    """Print one table, as wide as the terminal allows; long cells are folded, nothing is cut off."""
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table as RichTable

    shown = RichTable(title=escape(table.title), title_justify="left", box=SIMPLE_HEAD, show_header=any(table.head))
    for head in table.head:
        shown.add_column(escape(head), overflow="fold")
    for row in table.rows:
        shown.add_row(*map(escape, row))
    Console().print(shown)
