"""All lines of a log together, as they come by: their numbers, the tree over them, and the entries that they make up."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from custody import store
from custody.domain.recorded import Recorded
from custody.errors import CustodyError
from custody.ledger import merkle
from custody.ledger.tree import Tree
from custody.projections.recorded_lines import join_signatures, read_line
from custody.queries.verify_lines import Problem, Row

_MEANING = (CustodyError, ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError)


class Chain:
    """Takes the lines of one log in the order of their numbers.

    `roots` are filled in: the root over the first so many lines, as worked out from the bytes; `None` stays where lines are
    missing. `entries` is what the lines say, whatever their rows say of them.
    """

    def __init__(self, log: store.LogHead, sizes: Iterable[int]) -> None:
        self._log = log
        self._tree = Tree()
        self._nodes: dict[merkle.Node, bytes] = {}
        self._next, self._whole = 0, True
        self._problems: list[Problem] = []
        self.roots: dict[int, bytes | None] = dict.fromkeys(sizes)
        self.entries: dict[str, Recorded] = {}
        self._note_root()

    def take(self, rows: Iterable[Row]) -> None:
        for row in rows:
            if row.seq < self._next:
                self._say(row.seq, "bad-line", "No line can have that number, or a line before has it.")
                continue
            self._check_number(row)
            self._check_nodes(row)
            if self._whole:
                self._tree.append(merkle.leaf_hash(row.body))
                self._note_root()
            if self._log.kind is not store.LogKind.REGISTER:
                self._take_entry(row)

    def _note_root(self) -> None:
        if self._tree.size in self.roots:
            self.roots[self._tree.size] = self._tree.root()

    def _check_number(self, row: Row) -> None:
        if row.seq > self._next:
            gap = f"{self._next}" if row.seq == self._next + 1 else f"{self._next} to {row.seq - 1}"
            self._say(self._next, "missing-line", f"The log has no line {gap}.")
            self._whole = False
        self._next = row.seq + 1

    def _check_nodes(self, row: Row) -> None:
        """The leaf, and every node that the line completes, as far as its neighbours to the left are there.

        When the hashes in a row fit one another but not the line, it is the line that was changed; else it is they.
        """
        leaf = merkle.leaf_hash(row.body)
        expected = self._completed(row.seq, leaf)
        known = row.nodes[: len(expected)]
        if known != expected or len(row.nodes) != merkle.HASH_BYTES * (len(merkle.nodes_for_append(row.seq)) + 1):
            stored = row.nodes[: merkle.HASH_BYTES]
            if stored != leaf and known == self._completed(row.seq, stored):
                self._say(row.seq, "bad-leaf", "The line is not the one whose hash is in the tree.")
                expected = known
            else:
                self._say(row.seq, "bad-node", "The hashes in the row are not those that the lines give.")
        for node in merkle.nodes_for_append(row.seq):
            self._nodes.pop(node, None)
        if expected:
            level = len(expected) // merkle.HASH_BYTES - 1
            self._nodes[level, row.seq >> level] = expected[-merkle.HASH_BYTES :]

    def _completed(self, seq: int, leaf: bytes) -> bytes:
        """The hashes that a line completes, up to where a neighbour is missing."""
        hashes = [leaf]
        for node in merkle.nodes_for_append(seq):
            left = self._nodes.get(node)
            if left is None:
                break
            hashes.append(merkle.node_hash(left, hashes[-1]))
        return b"".join(hashes)

    def _take_entry(self, row: Row) -> None:
        try:
            recorded = read_line(row.body)
        except _MEANING as error:
            detail = error.detail if isinstance(error, CustodyError) else str(error)
            self._say(row.seq, "bad-entry", f"The line holds no entry: {detail}")
            return
        known = self.entries.get(recorded.id)
        if known is None:
            self.entries[recorded.id] = recorded
        elif known.signed != recorded.signed:
            self._say(row.seq, "id-taken", "Another entry, on a line before, has this id.")
        else:
            joined = join_signatures(known, recorded.signatures)
            if joined == known:
                self._say(row.seq, "nothing-new", "The line adds no signature to what was on record before it.")
            self.entries[recorded.id] = joined

    def finish(self) -> Iterator[Problem]:
        yield from self._problems
        if self._next != self._log.size:
            detail = f"The log's head says {self._log.size} lines, its last line is number {self._next - 1}."
            yield Problem(log=self._log.path, seq=min(self._next, self._log.size), code="bad-size", detail=detail)

    def _say(self, seq: int, code: str, detail: str) -> None:
        self._problems.append(Problem(log=self._log.path, seq=seq, code=code, detail=detail))
