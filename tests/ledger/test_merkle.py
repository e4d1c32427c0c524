"""The tree against the definitions of RFC 6962 section 2.1, written here word for word. Published values:
tests/standards.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from custody.errors import Unverified
from custody.ledger.merkle import (
    EMPTY_ROOT,
    HASH_BYTES,
    completed_nodes,
    consistency_proof,
    inclusion_path,
    inclusion_proof,
    leaf_hash,
    locate,
    node_hash,
    nodes_for_append,
    nodes_for_consistency,
    nodes_for_inclusion,
    nodes_for_root,
    peaks,
    root,
    verify_consistency,
    verify_inclusion,
)
from custody.ledger.tree import NodeTree, Tree

LEAVES = [leaf_hash(b"line %d" % number) for number in range(70)]
TREE = NodeTree(LEAVES)


def split(n: int) -> int:
    k = 1
    while k * 2 < n:
        k *= 2
    return k


def mth(d: list[bytes]) -> bytes:
    """MTH(D[n]), section 2.1, over leaf hashes."""
    if len(d) < 2:
        return d[0] if d else EMPTY_ROOT
    k = split(len(d))
    return node_hash(mth(d[:k]), mth(d[k:]))


def path(m: int, d: list[bytes]) -> list[bytes]:
    """PATH(m, D[n]), section 2.1.1."""
    if len(d) == 1:
        return []
    k = split(len(d))
    return [*path(m, d[:k]), mth(d[k:])] if m < k else [*path(m - k, d[k:]), mth(d[:k])]


def subproof(m: int, d: list[bytes], whole: bool = True) -> list[bytes]:
    """SUBPROOF(m, D[n], b), section 2.1.2."""
    if m == len(d):
        return [] if whole else [mth(d)]
    k = split(len(d))
    if m <= k:
        return [*subproof(m, d[:k], whole), mth(d[k:])]
    return [*subproof(m - k, d[k:], False), mth(d[:k])]


class Rows:
    """Log rows as a store keeps them: each with the nodes it completed. Answers for listed nodes only."""

    def __init__(self) -> None:
        self.rows: list[bytes] = []
        self.allowed: set[tuple[int, int]] = set()

    def append(self, leaf: bytes) -> None:
        self.allowed = set(nodes_for_append(len(self.rows)))
        self.rows.append(completed_nodes(len(self.rows), leaf, self.node))

    def node(self, level: int, index: int) -> bytes:
        assert (level, index) in self.allowed
        seq, offset = locate(level, index)
        found = self.rows[seq][offset : offset + HASH_BYTES]
        assert len(found) == HASH_BYTES
        return found


@pytest.fixture(scope="module")
def rows() -> Rows:
    stored = Rows()
    for leaf in LEAVES:
        stored.append(leaf)
    return stored


def test_row_holds_a_node_for_each_trailing_one_of_its_number_and_its_leaf(rows: Rows) -> None:
    assert [len(row) // HASH_BYTES for row in rows.rows[:17]] == [1, 2, 1, 3, 1, 2, 1, 4, 1, 2, 1, 3, 1, 2, 1, 5, 1]
    assert all(row[:HASH_BYTES] == leaf for row, leaf in zip(rows.rows, LEAVES, strict=True))


def test_node_stands_where_it_is_located() -> None:
    assert [locate(0, 5), locate(3, 0), locate(2, 4)] == [(5, 0), (7, 96), (19, 64)]


@pytest.mark.parametrize("size", range(len(LEAVES) + 1))
def test_roots_from_rows_and_from_both_trees_are_the_defined_one(rows: Rows, size: int) -> None:
    expected = mth(LEAVES[:size])
    rows.allowed = set(nodes_for_root(size))
    streaming = Tree()
    for leaf in LEAVES[:size]:
        streaming.append(leaf)
    assert root(size, rows.node) == streaming.root() == expected
    assert (streaming.size, NodeTree(LEAVES[:size]).size) == (size, size)


@pytest.mark.parametrize("size", [1, 2, 3, 7, 8, 9, 33, 70])
def test_inclusion_proofs_from_rows_are_the_defined_ones_and_verify(rows: Rows, size: int) -> None:
    for index in range(size):
        rows.allowed = set(nodes_for_inclusion(index, size))
        proof = inclusion_proof(index, size, rows.node)
        assert proof == path(index, LEAVES[:size])
        verify_inclusion(index, size, LEAVES[index], proof, mth(LEAVES[:size]))


@pytest.mark.parametrize("new", [1, 2, 3, 7, 8, 9, 33, 70])
def test_consistency_proofs_from_rows_are_the_defined_ones_and_verify(rows: Rows, new: int) -> None:
    for old in range(1, new + 1):
        rows.allowed = set(nodes_for_consistency(old, new))
        proof = consistency_proof(old, new, rows.node)
        assert proof == subproof(old, LEAVES[:new])
        verify_consistency(old, new, mth(LEAVES[:old]), mth(LEAVES[:new]), proof)


def test_peaks_and_paths_are_named_from_left_to_right() -> None:
    assert peaks(11) == [(3, 0), (1, 4), (0, 10)]
    assert inclusion_path(2, 7) == [[(0, 3)], [(1, 0)], [(1, 2), (0, 6)]]


@pytest.mark.parametrize(("index", "size"), [(-1, 5), (5, 5), (6, 5), (0, 0)])
def test_no_inclusion_proof_for_a_leaf_outside_the_tree(index: int, size: int) -> None:
    with pytest.raises(ValueError, match=f"no leaf {index} in a tree of {size}"):
        inclusion_proof(index, size, TREE.node)


@pytest.mark.parametrize(("old", "new"), [(0, 5), (6, 5), (-1, 5), (0, 0)])
def test_no_consistency_proof_from_nothing_or_backwards(old: int, new: int) -> None:
    with pytest.raises(ValueError, match=f"from {old} to {new}"):
        consistency_proof(old, new, TREE.node)


def test_tree_has_no_incomplete_nodes() -> None:
    tree = NodeTree(LEAVES[:7])
    assert tree.node(2, 0) == mth(LEAVES[:4])
    for level, index in ((2, 1), (3, 0), (0, 7), (0, -1), (-1, 0)):
        with pytest.raises(IndexError):
            tree.node(level, index)


def fails(code: str, verify: Callable[..., None], *args: object) -> bool:
    try:
        verify(*args)
    except Unverified as error:
        assert error.code == code
        return True
    return False


def flipped(value: bytes, bit: int) -> bytes:
    changed = bytearray(value)
    changed[bit // 8] ^= 1 << bit % 8
    return bytes(changed)


def bad_lists(proof: list[bytes], other: bytes) -> dict[str, list[bytes]]:
    """Every way in which a proof's list of hashes is spoiled, by name."""
    bad = {"one more": [*proof, other], "one more in front": [other, *proof], "empty hash more": [*proof, b""]}
    if proof:
        bad |= {"last cut": proof[:-1], "first cut": proof[1:], "hash cut": [proof[0][:-1], *proof[1:]]}
        bad |= {
            f"bit flipped in {at}": [*proof[:at], flipped(one, 7), *proof[at + 1 :]] for at, one in enumerate(proof)
        }
    if len(set(proof)) > 1:
        bad |= {"turned round": proof[::-1], "first doubled": [proof[0], *proof]}
    return bad


@pytest.mark.parametrize("size", [1, 2, 3, 6, 7, 8, 13, 64])
def test_spoiled_inclusion_proof_fails(size: int) -> None:
    top = root(size, TREE.node)
    for index in range(size):
        leaf, proof = LEAVES[index], inclusion_proof(index, size, TREE.node)
        assert fails("bad-inclusion", verify_inclusion, index, size, leaf, proof, top) is False
        spoiled: dict[str, tuple[object, ...]] = {
            "index after": (index + 1, size, leaf, proof, top),
            "index before": (index - 1, size, leaf, proof, top),
            "index beyond 2^64": (index + 2**64, size, leaf, proof, top),
            "no tree": (index, 0, leaf, proof, top),
            "another leaf": (index, size, LEAVES[-1], proof, top),
            "leaf bit flipped": (index, size, flipped(leaf, 3), proof, top),
            "leaf cut": (index, size, leaf[:-1], proof, top),
            "root bit flipped": (index, size, leaf, proof, flipped(top, 255)),
            "root of a tree before": (index, size, leaf, proof, root(size - 1, TREE.node)),
            "root of a tree after": (index, size, leaf, proof, root(size + 1, TREE.node)),
            "empty root": (index, size, leaf, proof, b""),
        }
        spoiled |= {name: (index, size, leaf, bad, top) for name, bad in bad_lists(proof, LEAVES[-1]).items()}
        passed = [name for name, args in spoiled.items() if not fails("bad-inclusion", verify_inclusion, *args)]
        assert passed == []


@pytest.mark.parametrize(("old", "new"), [(1, 1), (1, 2), (2, 3), (3, 7), (4, 7), (6, 8), (8, 13), (13, 64), (63, 64)])
def test_spoiled_consistency_proof_fails(old: int, new: int) -> None:
    before, after = root(old, TREE.node), root(new, TREE.node)
    proof = consistency_proof(old, new, TREE.node)
    assert fails("bad-consistency", verify_consistency, old, new, before, after, proof) is False
    spoiled: dict[str, tuple[object, ...]] = {
        "old one less": (old - 1, new, before, after, proof),
        "old is nothing": (0, new, EMPTY_ROOT, after, []),
        "backwards": (new + 1, new, root(new + 1, TREE.node), after, proof),
        "old root bit flipped": (old, new, flipped(before, 0), after, proof),
        "new root bit flipped": (old, new, before, flipped(after, 0), proof),
        "old root cut": (old, new, before[:-1], after, proof),
        "old root of a tree after": (old, new, root(old + 1, TREE.node), after, proof),
        "new root of a tree after": (old, new, before, root(new + 1, TREE.node), proof),
    }
    if old != new:
        spoiled |= {"no proof": (old, new, before, after, []), "roots swapped": (old, new, after, before, proof)}
    spoiled |= {name: (old, new, before, after, bad) for name, bad in bad_lists(proof, LEAVES[-1]).items()}
    passed = [name for name, args in spoiled.items() if not fails("bad-consistency", verify_consistency, *args)]
    assert passed == []


def test_boundary_between_two_hashes_cannot_be_moved() -> None:
    # Without a check of lengths, 31 + 33 bytes would hash like the 32 + 32 of a true proof.
    left, right = LEAVES[:2]
    top = root(2, TREE.node)
    verify_inclusion(0, 2, left, [right], top)
    assert fails("bad-inclusion", verify_inclusion, 0, 2, left[:31], [left[31:] + right], top) is True
    verify_consistency(1, 2, left, top, [right])
    assert fails("bad-consistency", verify_consistency, 1, 2, left[:31], top, [left[31:] + right]) is True


def test_changed_line_cannot_be_hidden_behind_a_later_root() -> None:
    forged = NodeTree([*LEAVES[:5], leaf_hash(b"another line"), *LEAVES[6:20]])
    old_root = root(10, TREE.node)
    proof = consistency_proof(10, 20, forged.node)
    assert fails("bad-consistency", verify_consistency, 10, 20, old_root, root(20, forged.node), proof) is True


@given(st.integers(1, 2**40), st.data())
def test_trees_too_large_to_build_ask_for_few_nodes(size: int, data: st.DataObject) -> None:
    index = data.draw(st.integers(0, size - 1))
    wanted = nodes_for_inclusion(index, size) + nodes_for_consistency(index + 1, size)
    assert len(wanted) <= 4 * size.bit_length()
    assert all((index + 1) << level <= size for level, index in wanted)
