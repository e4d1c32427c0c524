"""Which log the pages show: that of the only jurisdiction, in earnest, or the rehearsal that `CUSTODY_REHEARSAL` names."""

from __future__ import annotations

from dataclasses import dataclass, replace

from django.conf import settings

from custody import clock, store
from custody.errors import CustodyError
from custody.models.register import Jurisdiction
from custody.queries.logs import MAIN, find_jurisdiction, find_log
from custody.queries.moments import present

Log = store.LogHead
"""A log, for those above who pass it on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """The log that is shown; `log` is `None` as long as nothing was ever recorded, `jurisdiction` empty without a register.

    `rehearsal` is the name of the rehearsal, or empty for the log in earnest; `timezone` the jurisdiction's, by IANA;
    `now` the moment that is meant by now.
    """

    jurisdiction: str = ""
    name: str = ""
    timezone: str = "UTC"
    rehearsal: str = ""
    log: store.LogHead | None = None
    now: int = 0


def get_shown(jurisdiction: str | None = None, log: str | None = None) -> Shown:
    """What pages show, or the log of that name for a program whose token belongs to it.

    Raises `CustodyError("which-jurisdiction")` where the register holds several and none is named: a page shows one.
    """
    rehearsal, now = settings.CUSTODY_REHEARSAL if log is None else ("" if log == MAIN else log), clock.now()
    try:
        code = find_jurisdiction(jurisdiction)
    except CustodyError as error:
        if error.code != "no-jurisdiction":
            raise
        return Shown(rehearsal=rehearsal, now=now)
    row = Jurisdiction.objects.filter(code=code).values_list("name", "timezone").first()
    name, timezone = row or (code, "UTC")
    shown = Shown(jurisdiction=code, name=name, timezone=timezone, rehearsal=rehearsal, now=now)
    try:
        found = find_log(code, rehearsal)
    except CustodyError:
        return shown
    return replace(shown, log=found, now=present(found, now))
