"""The tree against a slow reference written straight from RFC 9162, 2.1, and proofs that were tampered with."""

from __future__ import annotations

from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.journal import merkle


def slow_split(size: int) -> int:
    k = 1
    while k * 2 < size:
        k *= 2
    return k


def slow_root(leaves: list[bytes]) -> bytes:
    """MTH(D[n]), 2.1.1, over leaf hashes."""
    if not leaves:
        return sha256().digest()
    if len(leaves) == 1:
        return leaves[0]
    k = slow_split(len(leaves))
    return sha256(b"\x01" + slow_root(leaves[:k]) + slow_root(leaves[k:])).digest()


def slow_path(m: int, leaves: list[bytes]) -> list[bytes]:
    """PATH(m, D[n]), 2.1.3.1."""
    if len(leaves) == 1:
        return []
    k = slow_split(len(leaves))
    if m < k:
        return [*slow_path(m, leaves[:k]), slow_root(leaves[k:])]
    return [*slow_path(m - k, leaves[k:]), slow_root(leaves[:k])]


def slow_proof(m: int, leaves: list[bytes], whole: bool = True) -> list[bytes]:
    """SUBPROOF(m, D[n], b), 2.1.4.1."""
    if m == len(leaves):
        return [] if whole else [slow_root(leaves)]
    k = slow_split(len(leaves))
    if m <= k:
        return [*slow_proof(m, leaves[:k], whole), slow_root(leaves[k:])]
    return [*slow_proof(m - k, leaves[k:], False), slow_root(leaves[:k])]


def leaves_of(size: int) -> list[bytes]:
    return [merkle.leaf_hash(str(number).encode()) for number in range(size)]


def nodes_of(leaves: list[bytes]) -> merkle.Node:
    return lambda level, index: slow_root(leaves[index << level : (index + 1) << level])


SIZES = [1, 2, 3, 4, 5, 6, 7, 8, 9, 15, 16, 17, 31, 33]


@pytest.mark.parametrize("size", [0, *SIZES])
def test_root_and_every_proof_are_the_reference_s(size: int) -> None:
    leaves = leaves_of(size)
    node = nodes_of(leaves)
    grown = merkle.Range()
    for leaf in leaves:
        grown.append(leaf)
    root = slow_root(leaves)
    assert grown.root() == merkle.root(size, node) == root
    for index in range(size):
        path = merkle.inclusion_path(index, size, node)
        assert path == slow_path(index, leaves)
        assert merkle.verify_inclusion(leaves[index], index, size, path, root)
    for first in range(1, size + 1):
        path = merkle.consistency_path(first, size, node)
        assert path == slow_proof(first, leaves)
        assert merkle.verify_consistency(first, slow_root(leaves[:first]), size, root, path)


def test_appending_names_each_wider_subtree_once() -> None:
    leaves = leaves_of(64)
    grown, seen = merkle.Range(), {}
    for leaf in leaves:
        for level, index, value in grown.append(leaf):
            assert (level, index) not in seen
            seen[level, index] = value
    node = nodes_of(leaves)
    assert seen == {(level, index): node(level, index) for level in range(1, 7) for index in range(64 >> level)}


def test_a_whole_subtree_may_be_appended_at_its_place_only() -> None:
    leaves = leaves_of(12)
    grown = merkle.Range()
    grown.append_subtree(3, slow_root(leaves[:8]))
    grown.append_subtree(2, slow_root(leaves[8:]))
    assert grown.root() == slow_root(leaves)
    with pytest.raises(ValueError, match="cannot begin"):
        grown.append_subtree(3, leaves[0])


def test_an_edge_with_a_wrong_number_of_hashes_is_refused() -> None:
    with pytest.raises(ValueError, match="2 subtrees"):
        merkle.Range(3, [b""])


@given(st.data())
def test_an_inclusion_proof_holds_for_its_leaf_place_and_size_alone(data: st.DataObject) -> None:
    size = data.draw(st.integers(2, 40))
    leaves = leaves_of(size)
    index = data.draw(st.integers(0, size - 1))
    path, root = slow_path(index, leaves), slow_root(leaves)
    spoiled = list(path)
    what = data.draw(st.sampled_from(["leaf", "index", "path", "short", "long", "root", "order"]))
    leaf = leaves[index]
    if what == "leaf":
        leaf = leaves[index - 1]
    elif what == "index":
        index = (index + data.draw(st.integers(1, size - 1))) % size
    elif what == "path":
        at = data.draw(st.integers(0, len(path) - 1))
        spoiled[at] = bytes([path[at][0] ^ 1]) + path[at][1:]
    elif what == "short":
        spoiled.pop()
    elif what == "long":
        spoiled.append(root)
    elif what == "root":
        root = slow_root(leaves[:-1])
    elif what == "order":
        spoiled.reverse()
    verified = merkle.verify_inclusion(leaf, index, size, spoiled, root)
    assert verified == (what == "order" and spoiled == path)


@given(st.data())
def test_a_consistency_proof_holds_for_its_two_trees_alone(data: st.DataObject) -> None:
    size = data.draw(st.integers(2, 40))
    first = data.draw(st.integers(1, size - 1))
    leaves = leaves_of(size)
    other = [*leaves[: first - 1], merkle.leaf_hash(b"other"), *leaves[first:]]
    path, old, new = slow_proof(first, leaves), slow_root(leaves[:first]), slow_root(leaves)
    assert merkle.verify_consistency(first, old, size, new, path)
    assert not merkle.verify_consistency(first, slow_root(other[:first]), size, new, path)
    assert not merkle.verify_consistency(first, old, size, slow_root(other), path)
    assert not merkle.verify_consistency(first, old, size, new, [*path, new])
    assert not merkle.verify_consistency(first, old, size, new, path[:-1])
    assert not merkle.verify_consistency(size, new, first, old, path)


def test_no_proof_leaves_or_enters_the_empty_tree() -> None:
    leaves = leaves_of(3)
    node, root = nodes_of(leaves), slow_root(leaves)
    assert not merkle.verify_consistency(0, merkle.EMPTY_ROOT, 3, root, [])
    assert not merkle.verify_inclusion(leaves[0], 0, 0, [], root)
    with pytest.raises(ValueError, match="no proof"):
        merkle.consistency_path(0, 3, node)
    with pytest.raises(ValueError, match="not in a tree"):
        merkle.inclusion_path(3, 3, node)


def test_equal_sizes_are_consistent_only_when_equal() -> None:
    root = slow_root(leaves_of(3))
    assert merkle.verify_consistency(3, root, 3, root, [])
    assert not merkle.verify_consistency(3, root, 3, merkle.EMPTY_ROOT, [])
    assert not merkle.verify_consistency(3, root, 3, root, [root])
