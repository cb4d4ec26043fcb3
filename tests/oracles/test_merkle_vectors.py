"""The tree against published vectors and against pymerkle.

The eight inputs and the root over all of them are those of the reference implementation of RFC 6962 (from memory). The
root of the empty tree is SHA-256 of nothing (RFC 9162, 2.1.1). pymerkle is asked for roots and inclusion proofs only:
its consistency proofs are of another form.
"""

from __future__ import annotations

import pytest
from pymerkle import InmemoryTree, verify_inclusion

from witnessmark.journal import merkle

INPUTS = [
    bytes.fromhex(text)
    for text in (
        "",
        "00",
        "10",
        "2021",
        "3031",
        "40414243",
        "5051525354555657",
        "606162636465666768696a6b6c6d6e6f",
    )
]
ROOTS = {
    0: "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    1: "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    2: "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    3: "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    4: "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    5: "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    6: "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    7: "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    8: "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
}
"""Roots of the first n inputs: from memory."""


@pytest.mark.parametrize("size", ROOTS)
def test_the_published_roots(size: int) -> None:
    tree = merkle.Range()
    for data in INPUTS[:size]:
        tree.append(merkle.leaf_hash(data))
    assert tree.root().hex() == ROOTS[size]


@pytest.mark.parametrize("size", [1, 2, 3, 7, 8, 11, 64, 100])
def test_roots_and_inclusion_proofs_are_pymerkle_s(size: int) -> None:
    other, tree, leaves = InmemoryTree(algorithm="sha256"), merkle.Range(), []
    for number in range(size):
        data = f"entry {number}".encode()
        other.append_entry(data)
        leaves.append(merkle.leaf_hash(data))
        tree.append(leaves[-1])
    assert tree.root() == other.get_root()

    def node(level: int, index: int) -> bytes:
        part = merkle.Range()
        for leaf in leaves[index << level : (index + 1) << level]:
            part.append(leaf)
        return part.root()

    for index in range(size):
        proof = other.prove_inclusion(index + 1)
        verify_inclusion(leaves[index], tree.root(), proof)
        assert merkle.inclusion_path(index, size, node) == proof.path[1:]
        assert merkle.verify_inclusion(leaves[index], index, size, proof.path[1:], tree.root())
