"""The register of a jurisdiction as rules read it: made of its register log, kept by the process, not read from tables.

A register that was handed out never changes again: new lines make a new one, on a copy. So threads share it without
locks, and whoever holds one while a load commits goes on with a register that was true when he asked.

What a transaction reads of its own uncommitted lines is kept apart, for the thread alone, and shared once it has
committed. Until then it is believed only after comparing the tree's root, since a rollback takes lines away unseen.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass

from django.db import connection, transaction

from custody import store
from custody.domain.register import Register
from custody.errors import CustodyError
from custody.masterdata.standing import Rows

LOG = "register"
"""The name of the register's log in every jurisdiction."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Snapshot:
    """A register, and the lines that it was made of."""

    size: int
    root: bytes
    register: Register


class _Own(threading.local):
    """What this thread has read inside a transaction, by jurisdiction."""

    def __init__(self) -> None:
        self.snapshots: dict[str, _Snapshot] = {}


_shared: dict[str, _Snapshot] = {}
_own = _Own()


def get_register(jurisdiction: str) -> Register:
    """The register as it stands, for reading only. Raises `CustodyError("no-jurisdiction")`.

    One query when nothing changed; otherwise the new lines are read and taken.
    """
    log = open_register_log(jurisdiction)
    shared = _shared.get(jurisdiction)
    if shared and shared.size >= log.size:  # another thread may have read more, after this one asked for the size
        return shared.register
    own = _own.snapshots.get(jurisdiction)
    base = next((one for one in (own, shared) if one and _is_of(log, one)), None)
    if base is None or base.size < log.size or base is own:
        base = _extend(log, base)
        _keep(jurisdiction, base)
    return base.register


def forget() -> None:
    """Let go of every register. For tests, which exchange the database underneath."""
    _shared.clear()
    _own.snapshots.clear()


def open_register_log(jurisdiction: str) -> store.LogHead:
    """The head of a jurisdiction's register log. Raises `CustodyError("no-jurisdiction")`."""
    try:
        return store.open_log(jurisdiction, LOG)
    except CustodyError:
        detail = f"There is no jurisdiction {jurisdiction}."
        raise CustodyError("no-jurisdiction", detail, jurisdiction=jurisdiction) from None


def list_register_logs() -> list[store.LogHead]:
    """The register logs of all jurisdictions, by code."""
    return [log for log in store.list_logs() if log.kind is store.LogKind.REGISTER]


def read_rows(log: store.LogHead) -> Rows:
    """The latest row of every key, as `log` (a head that is up to date) has them; read afresh at each call."""
    rows = Rows()
    for line in store.read_lines(log, stop=log.size):
        change = line.content()["change"]
        rows.take(change["table"], change["rows"])
    return rows


def _is_of(log: store.LogHead, snapshot: _Snapshot) -> bool:
    """Whether the log begins with the lines of a snapshot."""
    return snapshot.size <= log.size and store.root_of(log, snapshot.size) == snapshot.root


def _extend(log: store.LogHead, base: _Snapshot | None) -> _Snapshot:
    """The snapshot of the whole log, made on a copy of an earlier one."""
    start, register = (base.size, base.register.copy()) if base else (0, Register())
    if base and start == log.size:
        return base
    for line in store.read_lines(log, start, log.size):
        change = line.content()["change"]
        register.apply(change["table"], change["rows"])
    return _Snapshot(size=log.size, root=store.root_of(log, log.size), register=register)


def _keep(jurisdiction: str, snapshot: _Snapshot) -> None:
    def share() -> None:
        _own.snapshots.pop(jurisdiction, None)
        before = _shared.get(jurisdiction)
        if before is None or before.size < snapshot.size:
            _shared[jurisdiction] = snapshot

    if connection.in_atomic_block:
        _own.snapshots[jurisdiction] = snapshot
        transaction.on_commit(share)
    else:
        share()
