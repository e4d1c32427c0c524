"""Verify a log: every signature, leaf, number, checkpoint and derived row. Reads only, and never stops at the first fault.

1. each line by itself: canonical, its number and time, its entry, every signature by a key of the register;
2. all lines together: numbers without a gap, each leaf and tree node as worked out from the bytes, the head's size;
3. every checkpoint that the log signed, and one kept elsewhere: its signature, and the root at its size;
4. the derived tables against a fresh derivation; the register's tables against the register's log.

A log whose end was cut off together with its checkpoints looks whole by itself: an older checkpoint shows it.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import nullcontext
from itertools import islice

from custody import register_tables, store
from custody.domain.register import Register
from custody.errors import CustodyError, Unverified
from custody.keys import log_vkey
from custody.ledger import merkle
from custody.ledger.checkpoint import verify_checkpoint
from custody.ledger.tree import Tree
from custody.projections.apply import derive_log
from custody.projections.compare import list_differences
from custody.queries.verify_lines import Fault, Problem, check_lines
from custody.registers import get_register

Advance = Callable[[int], None]

CHUNK = 500
"""Lines a process takes at a time."""

WORTH_PROCESSES = 2_000
"""Lines from which on starting processes pays."""


def verify_log(
    log: store.LogHead, *, checkpoint: str | None = None, advance: Advance = lambda _: None
) -> list[Problem]:
    """Everything that is wrong with one log; nothing when all is well. `checkpoint` is the text of one kept elsewhere."""
    log = store.open_log(log.jurisdiction, log.name)
    register = Register() if log.kind is store.LogKind.REGISTER else get_register(log.jurisdiction)
    notes = _checkpoints(log, checkpoint)
    roots = dict.fromkeys((note.size for note in notes), b"")
    problems = [*_check_all(log, register, roots, advance), *_check_notes(log, notes, roots, checkpoint)]
    if problems:
        return sorted(problems, key=_order)
    if log.kind is store.LogKind.REGISTER:
        return _check_register(log)
    return [
        Problem(log=log.path, code=f"{each.code}-row", detail=_ROWS[each.code], table=each.table, key=each.key)
        for each in list_differences(log, derive_log(log, register))
    ]


_ROWS = {
    "missing": "A row that follows from the log is missing.",
    "surplus": "A row does not follow from the log.",
    "differs": "A row is not as it follows from the log.",
}


def _order(problem: Problem) -> tuple[int, str]:
    return (-1 if problem.seq is None else problem.seq, problem.code)


def _check_all(log: store.LogHead, register: Register, roots: dict[int, bytes], advance: Advance) -> list[Problem]:
    """Steps 1 and 2. Fills in the root at each size of `roots`."""
    ring = {keyid: key.public_key for keyid, key in register.keys.items()}
    workers = os.cpu_count() or 1
    pool = ProcessPoolExecutor(workers) if log.size >= WORTH_PROCESSES and workers > 1 else None
    faults: list[Fault] = []
    problems: list[Problem] = []
    pending: list[Future[list[Fault]]] = []
    chain = _Chain(log, roots)
    with pool or nullcontext():
        for chunk in _chunks(store.read_lines(log)):
            if pool is None:
                faults += check_lines(log.path, chunk, ring)
            else:
                pending.append(pool.submit(check_lines, log.path, chunk, _keys_in(chunk, ring)))
            chain.take(chunk)
            advance(len(chunk))
        for future in pending:
            faults += future.result()
    problems += [Problem(log=log.path, seq=seq, code=code, detail=detail) for seq, code, detail in faults]
    return [*problems, *chain.finish()]


def _keys_in(chunk: Iterable[store.StoredLine], ring: Mapping[str, bytes]) -> dict[str, bytes]:
    """The part of the ring that a chunk may need: what goes to another process should be small."""
    bodies = b"".join(line.body for line in chunk)
    return {keyid: key for keyid, key in ring.items() if keyid.encode() in bodies} if len(ring) < CHUNK else dict(ring)


class _Chain:
    """All lines of a log together, as they come by: their numbers, and the tree over them."""

    def __init__(self, log: store.LogHead, roots: dict[int, bytes]) -> None:
        self._log, self._roots = log, roots
        self._tree = Tree()
        self._edge: dict[int, bytes] = {}  # by level the last node completed: the left neighbour of the next
        self._next, self._whole = 0, True
        self._problems: list[Problem] = []
        if 0 in roots:
            roots[0] = self._tree.root()

    def take(self, lines: Iterable[store.StoredLine]) -> None:
        for line in lines:
            if line.seq != self._next:
                gap = f"{self._next}" if line.seq == self._next + 1 else f"{self._next} to {line.seq - 1}"
                self._say(self._next, "missing-line", f"The log has no line {gap}.")
                self._whole = False
            self._next = line.seq + 1
            self._check_nodes(line)

    def _check_nodes(self, line: store.StoredLine) -> None:
        """The leaf and every node that the line completes; above a gap only the leaf can be told."""
        leaf = merkle.leaf_hash(line.body)
        if not self._whole:
            if line.leaf != leaf:
                self._say(line.seq, "bad-leaf", "The leaf hash is not that of the line.")
            return
        self._tree.append(leaf)
        nodes = merkle.completed_nodes(line.seq, leaf, lambda level, _: self._edge[level])
        for level, start in enumerate(range(0, len(nodes), merkle.HASH_BYTES)):
            self._edge[level] = nodes[start : start + merkle.HASH_BYTES]
        if line.nodes != nodes:
            code = "bad-leaf" if line.leaf != leaf else "bad-node"
            self._say(line.seq, code, "The hashes in the row are not those that its line and the lines before give.")
        if self._tree.size in self._roots:
            self._roots[self._tree.size] = self._tree.root()

    def finish(self) -> list[Problem]:
        if self._next != self._log.size:
            detail = f"The log's head says {self._log.size} lines, its last line is number {self._next - 1}."
            self._say(min(self._next, self._log.size), "bad-size", detail)
        return self._problems

    def _say(self, seq: int, code: str, detail: str) -> None:
        self._problems.append(Problem(log=self._log.path, seq=seq, code=code, detail=detail))


def _checkpoints(log: store.LogHead, kept: str | None) -> list[store.StoredCheckpoint]:
    """The checkpoints that the log stored, and the one kept elsewhere with what it says of itself."""
    notes = store.list_checkpoints(log)
    if kept is not None:
        try:
            said = verify_checkpoint(kept, log_vkey(log))
        except Unverified:
            return notes  # told by `_check_notes`
        notes.append(store.StoredCheckpoint(size=said.size, root=said.root, note=kept, created=0))
    return notes


def _check_notes(
    log: store.LogHead, notes: list[store.StoredCheckpoint], roots: Mapping[int, bytes], kept: str | None
) -> Iterator[Problem]:
    """Step 3: each checkpoint's signature, what it says against its row, and its root against the tree."""
    vkey = log_vkey(log)
    for note in notes:
        try:
            said = verify_checkpoint(note.note, vkey)
        except (Unverified, ValueError) as error:
            yield _of_note(
                log, note.size, getattr(error, "code", "bad-checkpoint"), f"A checkpoint does not verify: {error}"
            )
            continue
        if (said.size, said.root) != (note.size, bytes(note.root)):
            yield _of_note(log, note.size, "bad-checkpoint", "A checkpoint is not what its row says.")
        elif note.size > log.size or not roots[note.size]:
            detail = (
                f"A checkpoint speaks of {note.size} lines; the log has fewer, or a gap before: its end was cut off."
            )
            yield _of_note(log, note.size, "cut-off", detail)
        elif roots[note.size] != said.root:
            yield _of_note(
                log, note.size, "other-root", "The lines up to this checkpoint are not those it was signed for."
            )
    if kept is not None and all(note.note != kept for note in notes):
        yield Problem(
            log=log.path, code="bad-checkpoint", detail="The checkpoint given is not one that this log signed."
        )


def _of_note(log: store.LogHead, size: int, code: str, detail: str) -> Problem:
    return Problem(log=log.path, code=code, detail=detail, table="checkpoint", key=str(size))


def _check_register(log: store.LogHead) -> list[Problem]:
    """Step 4 for the register: its tables, and the personal values against their commitments."""
    try:
        rows = register_tables.compare_register(log.jurisdiction)
        values = register_tables.compare_personal_values(log.jurisdiction)
    except (CustodyError, KeyError, ValueError, TypeError) as error:
        return [
            Problem(log=log.path, code="bad-register", detail=f"The register cannot be read from its log: {error}.")
        ]
    differ = "A row of the register is not as its log has it."
    commit = "A personal value does not fit its commitment on record."
    return [
        Problem(log=log.path, code="differs-row", detail=differ, table=each.split()[0], key=each) for each in rows
    ] + [
        Problem(log=log.path, code="bad-commitment", detail=commit, table="personalvalue", key=each) for each in values
    ]


def _chunks(lines: Iterator[store.StoredLine]) -> Iterator[list[store.StoredLine]]:
    while chunk := list(islice(lines, CHUNK)):
        yield chunk
