"""Put changes of the register on its log, and into what is worked out from it. A step of the services beside it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from custody import register_tables, store
from custody.ledger.canonical import dump_canonical
from custody.masterdata.standing import Row
from custody.projections.apply import rederive
from custody.registers import get_register

LINE_BYTES = 64_000
"""Of rows in one line: what is left of a line's limit goes to its other members."""


def append_changes(
    log: store.LogHead, changes: Mapping[str, Sequence[Row]], *, user: str, now: int
) -> list[store.StoredLine]:
    """Append whole rows, by table, to the register log whose head is locked; tables follow in the same transaction.

    `user` is an opaque id of who changed it. Raises `Refused("too-large")` for a row that fits no line.
    """
    lines = [
        store.NewLine(received=now, entry_id=None, content={"change": {"table": table, "rows": rows}, "user": user})
        for table, all_rows in changes.items()
        for rows in _chunks(all_rows)
    ]
    before = get_register(log.jurisdiction)
    stored = store.append(log, lines)
    register_tables.apply_lines(log.jurisdiction, stored)
    rederive(log.jurisdiction, before, get_register(log.jurisdiction), changes, now=now)
    return stored


def _chunks(rows: Sequence[Row]) -> Iterator[list[Row]]:
    chunk: list[Row] = []
    size = 0
    for row in rows:
        row_size = len(dump_canonical(row)) + 1
        if chunk and size + row_size > LINE_BYTES:
            yield chunk
            chunk, size = [], 0
        chunk.append(row)
        size += row_size
    if chunk:
        yield chunk
