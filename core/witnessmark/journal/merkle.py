"""The Merkle tree of RFC 9162 (2.1): roots, inclusion and consistency proofs, and appending in O(log n).

Leaf hashes flow in, hashes flow out; nothing here knows what a leaf says. A `Node` function gives the hash of a perfect
subtree by `(level, index)`: it spans leaves `index << level` up to `(index + 1) << level`. Whoever stores the tree
supplies it, so a proof over a million leaves reads some twenty nodes. Verification needs no tree at all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from hashlib import sha256

Node = Callable[[int, int], bytes]
"""Gives the hash of the perfect subtree `(level, index)`, level 0 being the leaves."""

EMPTY_ROOT = sha256(b"").digest()
"""The root of no leaves (RFC 9162, 2.1.1)."""


def leaf_hash(data: bytes) -> bytes:
    """Return SHA-256 over 0x00 and the leaf's bytes."""
    return sha256(b"\x00" + data).digest()


def leaf_hashes(texts: Iterable[bytes]) -> list[bytes]:
    """Return the leaf hash of each text."""
    return [sha256(b"\x00" + text).digest() for text in texts]


def node_hash(left: bytes, right: bytes) -> bytes:
    """Return SHA-256 over 0x01 and both children."""
    return sha256(b"\x01" + left + right).digest()


class Range:
    """The right edge of a tree: the perfect subtrees that its size is made of, widest first."""

    __slots__ = ("hashes", "size")

    def __init__(self, size: int = 0, hashes: Iterable[bytes] = ()) -> None:
        self.size = size
        self.hashes = list(hashes)
        if len(self.hashes) != size.bit_count():
            raise ValueError(f"a tree of {size} leaves has {size.bit_count()} subtrees at its edge")

    def append(self, leaf: bytes) -> list[tuple[int, int, bytes]]:
        """Add a leaf hash. Returns each wider perfect subtree that it completes as (level, index, hash)."""
        return self.append_subtree(0, leaf)

    def append_subtree(self, level: int, subtree: bytes) -> list[tuple[int, int, bytes]]:
        """Add the hash of `1 << level` leaves at once; the size is a multiple of that. Returns as `append` does."""
        index = self.size >> level
        if index << level != self.size:
            raise ValueError(f"a subtree of level {level} cannot begin at leaf {self.size}")
        completed = []
        while index & 1:
            subtree = node_hash(self.hashes.pop(), subtree)
            index >>= 1
            level += 1
            completed.append((level, index, subtree))
        self.hashes.append(subtree)
        self.size = (index + 1) << level
        return completed

    def copy(self) -> Range:
        return Range(self.size, self.hashes)

    def root(self) -> bytes:
        """Return the root of the leaves added so far."""
        return fold(self.hashes)


def levels(leaves: list[bytes]) -> list[list[bytes]]:
    """Return every perfect subtree over `leaves`: the leaves, then the pairs, up to the widest."""
    found = [leaves]
    while len(found[-1]) > 1:
        row = iter(found[-1])
        found.append([sha256(b"\x01" + left + right).digest() for left, right in zip(row, row, strict=False)])
    return found


def fold(hashes: Sequence[bytes]) -> bytes:
    """Return the root over adjoining subtrees that grow narrower to the right."""
    if not hashes:
        return EMPTY_ROOT
    root = hashes[-1]
    for left in hashes[-2::-1]:
        root = sha256(b"\x01" + left + root).digest()
    return root


def spans(begin: int, end: int) -> list[tuple[int, int]]:
    """Return as (level, index) the perfect subtrees that make up leaves `begin` to `end`, `end` not included.

    `begin` is a multiple of the largest power of two below `end - begin`, or of `end - begin` itself, as it always is
    inside a tree of RFC 9162.
    """
    found = []
    while begin < end:
        level = (end - begin).bit_length() - 1
        found.append((level, begin >> level))
        begin += 1 << level
    return found


def edge(size: int, node: Node) -> Range:
    """Return the right edge of the tree of the first `size` leaves."""
    return Range(size, [node(level, index) for level, index in spans(0, size)])


def root(size: int, node: Node) -> bytes:
    """Return the root of the first `size` leaves."""
    return edge(size, node).root()


def inclusion_path(index: int, size: int, node: Node) -> list[bytes]:
    """Return PATH(index, D[size]) of RFC 9162, 2.1.3.1: the siblings from the leaf up."""
    if not 0 <= index < size:
        raise ValueError(f"leaf {index} is not in a tree of {size}")
    path, begin, end = [], 0, size
    while end - begin > 1:
        middle = begin + _split(end - begin)
        if index < middle:
            path.append(_subroot(middle, end, node))
            end = middle
        else:
            path.append(_subroot(begin, middle, node))
            begin = middle
    return path[::-1]


def consistency_path(first: int, second: int, node: Node) -> list[bytes]:
    """Return PROOF(first, D[second]) of RFC 9162, 2.1.4.1. Empty when the sizes are equal."""
    if not 0 < first <= second:
        raise ValueError(f"there is no proof from size {first} to size {second}")
    path, begin, end, whole = [], 0, second, True
    while first != end:
        middle = begin + _split(end - begin)
        if first <= middle:
            path.append(_subroot(middle, end, node))
            end = middle
        else:
            path.append(_subroot(begin, middle, node))
            begin, whole = middle, False
    if not whole:
        path.append(_subroot(begin, end, node))
    return path[::-1]


def verify_inclusion(leaf: bytes, index: int, size: int, path: Sequence[bytes], root: bytes) -> bool:
    """Tell whether `path` shows that the leaf hash stands at `index` below `root` (RFC 9162, 2.1.3.2)."""
    if not 0 <= index < size:
        return False
    at, last, value = index, size - 1, leaf
    for sibling in path:
        if last == 0:
            return False
        if at & 1 or at == last:
            value = node_hash(sibling, value)
            while not at & 1 and at:
                at >>= 1
                last >>= 1
        else:
            value = node_hash(value, sibling)
        at >>= 1
        last >>= 1
    return last == 0 and value == root


def verify_consistency(first: int, first_root: bytes, second: int, second_root: bytes, path: Sequence[bytes]) -> bool:
    """Tell whether `path` shows that the second tree begins with the first (RFC 9162, 2.1.4.2)."""
    if not 0 < first <= second:
        return False
    if first == second:
        return not path and first_root == second_root
    steps = list(path) if first & (first - 1) else [first_root, *path]
    if not steps:
        return False
    at, last = first - 1, second - 1
    while at & 1:
        at >>= 1
        last >>= 1
    old = new = steps[0]
    for sibling in steps[1:]:
        if last == 0:
            return False
        if at & 1 or at == last:
            old, new = node_hash(sibling, old), node_hash(sibling, new)
            while not at & 1 and at:
                at >>= 1
                last >>= 1
        else:
            new = node_hash(new, sibling)
        at >>= 1
        last >>= 1
    return last == 0 and old == first_root and new == second_root


def _split(size: int) -> int:
    """Return the largest power of two below `size`."""
    return 1 << ((size - 1).bit_length() - 1)


def _subroot(begin: int, end: int, node: Node) -> bytes:
    return fold([node(level, index) for level, index in spans(begin, end)])
