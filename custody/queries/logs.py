"""Which log somebody means: that of the only jurisdiction or of one by code, in earnest or a rehearsal."""

from __future__ import annotations

from custody import store
from custody.errors import CustodyError
from custody.registers import LOG, list_register_logs

MAIN, REGISTER = "main", LOG


def find_log(jurisdiction: str | None = None, rehearsal: str | None = None) -> store.LogHead:
    """The log in earnest, or the rehearsal of that name. Raises as `find_jurisdiction`, and `CustodyError("no-log")`."""
    return store.open_log(find_jurisdiction(jurisdiction), rehearsal or MAIN)


def find_named_log(jurisdiction: str, name: str) -> store.LogHead:
    """Any log by its full name, the register's among them. Raises `CustodyError("no-log")`."""
    return store.open_log(jurisdiction, name)


def find_jurisdiction(code: str | None = None) -> str:
    """The code of a jurisdiction: as given, else that of the only one.

    Raises `CustodyError`: `no-jurisdiction` when there is none, or none of that code; `which-jurisdiction` when there
    are several and none was named.
    """
    known = [log.jurisdiction for log in list_register_logs()]
    if code is not None and code not in known:
        raise CustodyError("no-jurisdiction", f"There is no jurisdiction {code}.", jurisdiction=code)
    if code is None and not known:
        raise CustodyError("no-jurisdiction", "There is no jurisdiction yet: load a register first.")
    if code is None and len(known) > 1:
        raise CustodyError("which-jurisdiction", f"There are several jurisdictions, name one: {', '.join(known)}.")
    return code or known[0]


def list_checked_logs(jurisdiction: str | None = None, rehearsal: str | None = None) -> list[store.LogHead]:
    """The logs that are verified together: every one, or those of a jurisdiction, or a rehearsal and the register's log.

    The register's log comes first in each jurisdiction. Raises as `find_log`.
    """
    if rehearsal is not None:
        log = find_log(jurisdiction, rehearsal)
        return [store.open_log(log.jurisdiction, REGISTER), log]
    code = None if jurisdiction is None else find_jurisdiction(jurisdiction)
    found = [log for log in store.list_logs() if code in (None, log.jurisdiction)]
    return sorted(found, key=lambda log: (log.jurisdiction, log.kind is not store.LogKind.REGISTER, log.name))
