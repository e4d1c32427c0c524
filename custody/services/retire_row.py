"""Let a row of the register leave service. It stays on record, with all that it says, and can come back by `change_row`."""

from __future__ import annotations

from django.db import transaction

from custody import registers, store
from custody.errors import CustodyError
from custody.services.append_changes import append_changes
from custody.services.change_row import RowName, find_row


def retire_row(name: RowName, *, user: str, now: int) -> int:
    """Mark a row as retired; how many lines that is on the register log, 0 where it was retired before.

    `user` is an opaque id, `now` the time of receipt. Raises `CustodyError`: `no-row`, `no-jurisdiction`.
    """
    with transaction.atomic():
        log = store.lock_head(registers.open_register_log(name.jurisdiction))
        row = find_row({name.jurisdiction: registers.read_rows(log)}, name)
        if row is None:
            raise CustodyError("no-row", "The register has no such row.", table=name.table)
        if row.get("retired"):
            return 0
        return len(append_changes(log, {name.table: [{**row, "retired": True}]}, user=user, now=now))
