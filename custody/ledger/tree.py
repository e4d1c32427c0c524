"""Trees in memory, for whoever reads a whole log from its first line: an auditor, a rebuild, a test.

`Tree` keeps only the peaks, a few dozen hashes however long the log, and tells the root as it goes. `NodeTree` keeps
every complete node, 64 bytes of hash a leaf, and so can prove things. Neither is a store: the log's own nodes stand
in its rows.
"""

from __future__ import annotations

from collections.abc import Iterable
from hashlib import sha256

from custody.ledger.merkle import EMPTY_ROOT, node_hash


class Tree:
    """The root of a growing log, in memory that does not grow with it."""

    __slots__ = ("_peaks", "size")

    def __init__(self) -> None:
        self.size = 0
        self._peaks: list[bytes] = []

    def append(self, leaf: bytes) -> None:
        """Add the next leaf hash."""
        self.extend((leaf,))

    def extend(self, leaves: Iterable[bytes]) -> None:
        """Add leaf hashes in order. One loop with everything at hand: verifying a log spends its time here."""
        peaks, size, hashed = self._peaks, self.size, sha256
        push, pop = peaks.append, peaks.pop
        for value in leaves:
            rest = size
            while rest & 1:
                value = hashed(b"\x01" + pop() + value).digest()
                rest >>= 1
            push(value)
            size += 1
        self.size = size

    def root(self) -> bytes:
        """The root hash of the leaves so far."""
        if not self._peaks:
            return EMPTY_ROOT
        value = self._peaks[-1]
        for left in self._peaks[-2::-1]:
            value = node_hash(left, value)
        return value


class NodeTree:
    """A growing log with all its complete nodes; `node` serves the functions of `merkle.py`."""

    __slots__ = ("_levels",)

    def __init__(self, leaves: Iterable[bytes] = ()) -> None:
        self._levels: list[list[bytes]] = [[]]
        for leaf in leaves:
            self.append(leaf)

    @property
    def size(self) -> int:
        return len(self._levels[0])

    def append(self, leaf: bytes) -> None:
        """Add the next leaf hash and every node that it completes."""
        value = leaf
        for level, nodes in enumerate(self._levels):
            nodes.append(value)
            if len(nodes) & 1:
                return
            value = node_hash(nodes[-2], value)
            if level + 1 == len(self._levels):
                self._levels.append([value])
                return

    def node(self, level: int, index: int) -> bytes:
        """The hash of a complete subtree. Raises `IndexError` when it is not complete."""
        if level < 0 or index < 0:
            raise IndexError(f"no node ({level}, {index})")
        return self._levels[level][index]
