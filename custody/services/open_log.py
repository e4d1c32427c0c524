"""The log that entries go to, made at first use: the one in earnest, or a rehearsal."""

from __future__ import annotations

from custody import store

MAIN = "main"


def open_log_for_entries(jurisdiction: str, rehearsal: str) -> store.LogHead:
    """Raises `CustodyError("bad-log")` for a name that no rehearsal can have."""
    kind = store.LogKind.REHEARSAL if rehearsal else store.LogKind.MAIN
    return store.make_log(jurisdiction, rehearsal or MAIN, kind)
