"""The tree as the database holds it: subtrees of 256 leaves and wider are kept, narrower ones are hashed on demand.

So an append stores a hash only every 256th time, and a proof reads some log2(n) rows and hashes a block or two of
entries. The kept hashes can be dropped and made again; a proof from a journal whose kept hashes were tampered with
does not verify.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable

from witnessmark.errors import JournalError
from witnessmark.journal import merkle

LEVEL = 8
"""Subtrees of this level and above are kept. At 256 leaves a block is hashed in about 0.3 ms."""

_KEPT_BLOCKS = 16


class StoredTree:
    """Gives the hash of any perfect subtree of a journal. `connection` is only read, but by `keep`."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self._blocks: dict[int, list[list[bytes]]] = {}

    def node(self, level: int, index: int) -> bytes:
        """Return the hash of leaves `index << level` up to `(index + 1) << level`, which all exist (`merkle.Node`).

        Raises JournalError when some of them are gone.
        """
        if level < LEVEL:
            block, inside = divmod(index, 1 << (LEVEL - level))
            return self._block(block, (inside + 1) << level)[level][inside]
        row = self._connection.execute(
            "SELECT hash FROM subtrees WHERE level = ? AND place = ?", (level, index)
        ).fetchone()
        if row is not None:
            return bytes(row[0])
        if level == LEVEL:
            return self._block(index, 1 << LEVEL)[LEVEL][0]
        return merkle.node_hash(self.node(level - 1, 2 * index), self.node(level - 1, 2 * index + 1))

    def edge(self, size: int) -> merkle.Range:
        """Return the right edge of the tree over the first `size` entries."""
        return merkle.edge(size, self.node)

    def keep(self, completed: Iterable[tuple[int, int, bytes]]) -> None:
        """Store those of `completed` (see `merkle.Range.append`) that are kept, inside the append's transaction."""
        for level, index, value in completed:
            if level >= LEVEL:
                self._connection.execute("INSERT OR REPLACE INTO subtrees VALUES (?, ?, ?)", (level, index, value))

    def forget(self) -> None:
        """Forget what was hashed from entries that may have been rolled back."""
        self._blocks.clear()

    def _block(self, block: int, needed: int) -> list[list[bytes]]:
        """Return the levels of the tree over one block, of at least its first `needed` leaves."""
        levels = self._blocks.get(block)
        if levels is None or len(levels[0]) < needed:
            begin = block << LEVEL
            rows = self._connection.execute(
                "SELECT COALESCE(CAST(text AS BLOB), x'') FROM entries WHERE seq >= ? AND seq < ? ORDER BY seq",
                (begin, begin + (1 << LEVEL)),
            )
            levels = merkle.levels([merkle.leaf_hash(text) for (text,) in rows])
            if len(self._blocks) >= _KEPT_BLOCKS:
                del self._blocks[next(iter(self._blocks))]
            self._blocks[block] = levels
        if len(levels[0]) < needed:
            raise JournalError("entries are missing from the journal", hint="run `witnessmark check`")
        return levels
