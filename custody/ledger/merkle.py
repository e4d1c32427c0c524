"""The Merkle tree of a log: hashes, roots and proofs (RFC 6962 section 2.1, RFC 9162 section 2.1).

A tree of `size` leaves is seen as complete subtrees. Node `(level, index)` is the complete subtree over the leaves
from `index * 2**level` up to, not including, `(index + 1) * 2**level`; a leaf hash is a node of level 0. Everything
else, the root and each element of a proof, is a fold of complete nodes, so complete nodes are all that is ever
stored, and they never change.

Storage: the leaf with sequence number `seq` completes one node of each level from 0 up to the number of trailing ones
of `seq` in binary. Its row keeps those hashes one after the other (`completed_nodes`); `locate` says in which row a
node stands, and where. A function that needs nodes takes `node(level, index) -> bytes`; the `nodes_for_…` beside it
lists beforehand which ones it will ask for, so that a database can fetch them in one query.

Knows nothing of what a leaf means and keeps nothing: `tree.py` keeps nodes, for whoever reads a whole log.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from hashlib import sha256
from itertools import chain
from typing import Final

from custody.errors import Unverified

Node = tuple[int, int]
"""A complete subtree: (level, index)."""
ReadNode = Callable[[int, int], bytes]
"""Gives the 32-byte hash of a complete subtree from its level and index."""

HASH_BYTES: Final = 32
EMPTY_ROOT: Final = sha256(b"").digest()
"""The root of a tree without leaves (RFC 6962 section 2.1)."""


def leaf_hash(data: bytes) -> bytes:
    """`SHA-256(0x00 || data)`. The prefix keeps a leaf from passing for a node, and a node for a leaf."""
    return sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """`SHA-256(0x01 || left || right)`."""
    return sha256(b"\x01" + left + right).digest()


def locate(level: int, index: int) -> tuple[int, int]:
    """`(seq, offset)`: the row whose leaf completed the node, and the byte at which its hash begins there."""
    return ((index + 1) << level) - 1, HASH_BYTES * level


def completed_nodes(seq: int, leaf: bytes, node: ReadNode) -> bytes:
    """The hashes of the nodes that leaf number `seq` completes, levels 0, 1, 2 …, one after the other; 32 bytes each.

    `leaf` is its leaf hash. Asks for `nodes_for_append(seq)`.
    """
    hashes = [leaf]
    for level, index in nodes_for_append(seq):
        hashes.append(node_hash(node(level, index), hashes[-1]))
    return b"".join(hashes)


def nodes_for_append(seq: int) -> list[Node]:
    """The left neighbours that leaf number `seq` closes up with, smallest first: last peaks of a tree of that size."""
    nodes = []
    level = 0
    while seq >> level & 1:
        nodes.append((level, (seq >> level) - 1))
        level += 1
    return nodes


def peaks(size: int) -> list[Node]:
    """The complete subtrees that make up a tree, from left to right: one for each one-bit of its size."""
    return [(level, (size >> level) - 1) for level in range(size.bit_length() - 1, -1, -1) if size >> level & 1]


nodes_for_root = peaks


def root(size: int, node: ReadNode) -> bytes:
    """The root hash of the first `size` leaves. Asks for `nodes_for_root(size)`."""
    return _fold(peaks(size), node) if size else EMPTY_ROOT


def inclusion_path(index: int, size: int) -> list[list[Node]]:
    """What stands beside leaf `index` on the way up, from its sibling to the root's child (RFC 6962 section 2.1.1).

    Each element is the list of complete nodes, from left to right, that fold to that hash: one node, or several where
    the subtree is the incomplete right edge. Raises `ValueError` unless `0 <= index < size`.
    """
    if not 0 <= index < size:
        raise ValueError(f"no leaf {index} in a tree of {size}")
    start, end = 0, size
    path = []
    while end - start > 1:
        middle = _split(start, end)
        if index < middle:
            path.append(_cover(middle, end))
            end = middle
        else:
            path.append(_cover(start, middle))
            start = middle
    return path[::-1]


def nodes_for_inclusion(index: int, size: int) -> list[Node]:
    """The complete nodes that `inclusion_proof(index, size, …)` will ask for."""
    return list(chain.from_iterable(inclusion_path(index, size)))


def inclusion_proof(index: int, size: int, node: ReadNode) -> list[bytes]:
    """The audit path PATH(index, D[size]) of RFC 6962 section 2.1.1, from the leaf's sibling upwards."""
    return [_fold(nodes, node) for nodes in inclusion_path(index, size)]


def consistency_path(old: int, new: int) -> list[list[Node]]:
    """What shows that the first `old` of `new` leaves are unchanged (RFC 6962 section 2.1.2).

    Elements are as in `inclusion_path`. Raises `ValueError` unless `1 <= old <= new`: there is nothing to prove about
    an empty tree.
    """
    if not 1 <= old <= new:
        raise ValueError(f"no consistency proof from {old} to {new}")
    start, end = 0, new
    path = []
    while end != old:
        middle = _split(start, end)
        if old <= middle:
            path.append(_cover(middle, end))
            end = middle
        else:
            path.append(_cover(start, middle))
            start = middle
    if start:  # else the old tree is itself the subtree reached, and its root is known to whoever asks
        path.append(_cover(start, end))
    return path[::-1]


def nodes_for_consistency(old: int, new: int) -> list[Node]:
    """The complete nodes that `consistency_proof(old, new, …)` will ask for."""
    return list(chain.from_iterable(consistency_path(old, new)))


def consistency_proof(old: int, new: int, node: ReadNode) -> list[bytes]:
    """PROOF(old, D[new]) of RFC 6962 section 2.1.2."""
    return [_fold(nodes, node) for nodes in consistency_path(old, new)]


def verify_inclusion(index: int, size: int, leaf: bytes, proof: Sequence[bytes], root_hash: bytes) -> None:
    """Check that the leaf hash `leaf` stands at `index` of the tree of `size` leaves with that root.

    RFC 9162 section 2.1.3.2. Raises `Unverified("bad-inclusion")`. Step numbers are those of the standard.
    """
    failed = Unverified(
        "bad-inclusion", f"The proof does not show that line {index} is in the log.", index=index, size=size
    )
    if not 0 <= index < size or not _are_hashes(leaf, root_hash, *proof):  # 1
        raise failed
    fn, sn, r = index, size - 1, leaf  # 2, 3
    for p in proof:  # 4
        if sn == 0:  # 4.1: the proof is longer than the way up
            raise failed
        if fn & 1 or fn == sn:  # 4.2
            r = node_hash(p, r)
            while not fn & 1 and fn:
                fn, sn = fn >> 1, sn >> 1
        else:
            r = node_hash(r, p)
        fn, sn = fn >> 1, sn >> 1  # 4.3
    if sn or r != root_hash:  # 5
        raise failed


def verify_consistency(old: int, new: int, old_root: bytes, new_root: bytes, proof: Sequence[bytes]) -> None:
    """Check that a log of `new` leaves begins with the log of `old` leaves (RFC 9162 section 2.1.4.2).

    Raises `Unverified("bad-consistency")`; also for `old == 0`, of which nothing can be shown, and for `old > new`.
    Two equal sizes need equal roots and an empty proof. Step numbers are those of the standard.
    """
    failed = Unverified("bad-consistency", f"The log of {new} lines does not continue that of {old}.", old=old, new=new)
    if not 1 <= old <= new:
        raise failed
    if old == new:
        if proof or old_root != new_root:
            raise failed
        return
    if not proof or not _are_hashes(old_root, new_root, *proof):  # 1
        raise failed
    steps = iter(proof)
    first = old_root if old & (old - 1) == 0 else next(steps)  # 2: a power of two is its own first node
    fn, sn = old - 1, new - 1  # 3
    while fn & 1:  # 4
        fn, sn = fn >> 1, sn >> 1
    fr = sr = first  # 5
    for c in steps:  # 6
        if sn == 0:  # 6.1
            raise failed
        if fn & 1 or fn == sn:  # 6.2
            fr, sr = node_hash(c, fr), node_hash(c, sr)
            while not fn & 1 and fn:
                fn, sn = fn >> 1, sn >> 1
        else:
            sr = node_hash(sr, c)
        fn, sn = fn >> 1, sn >> 1  # 6.3
    if sn or fr != old_root or sr != new_root:  # 7
        raise failed


def _split(start: int, end: int) -> int:
    """Where RFC 6962 splits a range: after the largest power of two smaller than its length."""
    return start + (1 << (end - start - 1).bit_length() - 1)


def _cover(start: int, end: int) -> list[Node]:
    """The complete nodes that make up a range of leaves whose start is a multiple of its largest node."""
    return [(level, index + (start >> level)) for level, index in peaks(end - start)]


def _fold(nodes: list[Node], node: ReadNode) -> bytes:
    """The hash over complete nodes from left to right, the right edge closed up first. At least one node."""
    *lefts, last = nodes
    value = node(*last)
    for left in reversed(lefts):
        value = node_hash(node(*left), value)
    return value


def _are_hashes(*values: bytes) -> bool:
    return all(len(value) == HASH_BYTES for value in values)
