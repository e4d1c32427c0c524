"""The checkpoints of a log under scrutiny: those that it stored, and one that was kept elsewhere."""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator, Mapping, Sequence
from typing import Any

from custody import store
from custody.errors import Unverified
from custody.keys import known_vkey
from custody.ledger.checkpoint import Checkpoint, parse_checkpoint, verify_checkpoint
from custody.queries.verify_lines import Problem


def sizes_of(rows: Iterable[Sequence[Any]], kept: str | None) -> list[int]:
    """The sizes that checkpoints speak of, believed or not: their roots will be asked for."""
    found = [_said(row[2]) for row in rows] + [_said(kept)]
    return [said.size for said in found if said is not None]


def _said(note: object) -> Checkpoint | None:
    try:
        return parse_checkpoint(note) if isinstance(note, str) else None
    except (Unverified, ValueError):
        return None


def check_notes(
    log: store.LogHead, rows: Iterable[Sequence[Any]], roots: Mapping[int, bytes | None], kept: str | None
) -> Iterator[Problem]:
    """Each checkpoint's signature, what it says against its row, and its root against the tree.

    `rows` are the columns size, root, note and created as they are stored; `kept` is the text of one kept elsewhere.
    """
    vkey = known_vkey(log)
    for size, root, note, _ in rows:
        key = str(size)
        said = yield from _check(log, vkey, note, roots, key)
        if said is not None and (said.size, said.root) != (size, bytes(root) if _is_bytes(root) else root):
            yield _problem(log, key, "bad-checkpoint", "A checkpoint is not what its row says.")
    if kept is not None:
        yield from _check(log, vkey, kept, roots, "kept elsewhere")


def _is_bytes(value: object) -> bool:
    return isinstance(value, bytes | memoryview)


def _check(
    log: store.LogHead, vkey: str | None, note: object, roots: Mapping[int, bytes | None], key: str
) -> Generator[Problem, None, Checkpoint | None]:
    """What is wrong with one note. Returns what it says, when the log did sign it."""
    if vkey is None:
        yield _problem(log, key, "no-key", "The log's own key is not in the data folder: no checkpoint can be checked.")
        return None
    try:
        said = verify_checkpoint(str(note), vkey)
    except (Unverified, ValueError) as error:
        code = error.code if isinstance(error, Unverified) else "bad-checkpoint"
        yield _problem(log, key, code, f"A checkpoint does not verify: {error}")
        return None
    root = roots.get(said.size)
    if said.size > log.size or root is None:
        detail = f"A checkpoint speaks of {said.size} lines; the log has fewer, or a gap before: its end was cut off."
        yield _problem(log, key, "cut-off", detail)
    elif root != said.root:
        detail = f"The first {said.size} lines are not those that this checkpoint was signed for."
        yield _problem(log, key, "other-root", detail)
    return said


def _problem(log: store.LogHead, key: str, code: str, detail: str) -> Problem:
    return Problem(log=log.path, code=code, detail=detail, table="checkpoint", key=key)
