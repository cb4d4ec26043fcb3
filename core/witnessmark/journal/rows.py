"""The rows of a journal as they lie on disk, read as far as damage lets them be read.

A journal flows in, blocks of numbers and exact texts flow out. Rule that holds here: what stands before an unreadable
page comes out, whatever the index says.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator

from witnessmark.journal.store import Journal
from witnessmark.journal.tree import LEVEL

_ROW = "SELECT seq, COALESCE(CAST(text AS BLOB), x'') FROM entries NOT INDEXED"


def blocks(journal: Journal) -> Iterator[list[tuple[int, bytes]]]:
    """Yield every row by walking the table itself, in blocks, so that those before an unreadable page come out.

    The walk reads ahead of what it gives; once it fails, rows are asked for one by one. Raises the error after them.
    """
    last = -1
    try:
        cursor = journal.connection.execute(f"{_ROW} ORDER BY seq")
        while rows := cursor.fetchmany(1 << LEVEL):
            yield rows
            last = rows[-1][0]
    except sqlite3.Error:
        yield from _singly(journal, last)
        raise


def _singly(journal: Journal, last: int) -> Iterator[list[tuple[int, bytes]]]:
    """Yield the rows after `last` one by one, up to one that is missing or cannot be read."""
    while True:
        try:
            row = journal.connection.execute(f"{_ROW} WHERE seq = ?", (last + 1,)).fetchone()
        except sqlite3.Error:
            return
        if row is None:
            return
        yield [row]
        last = row[0]
