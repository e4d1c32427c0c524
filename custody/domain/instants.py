"""Instants: whole Unix seconds in the core, RFC 3339 with `Z` on the wire, local wall-clock times only for schedules.

Not a calendar library: it knows the three conversions that the record needs, and nothing about how times are shown.
"""

from __future__ import annotations

import re
from calendar import monthrange
from datetime import MAXYEAR, UTC, date, datetime
from zoneinfo import ZoneInfo

LAST = 253_402_300_799
"""9999-12-31T23:59:59Z: the last instant that RFC 3339 can write."""

_RFC3339_Z = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}Z", re.ASCII)


def parse_instant(text: str) -> int:
    """Unix seconds of `YYYY-MM-DDTHH:MM:SSZ` (RFC 3339 section 5.6, UTC, whole seconds). Raises `ValueError` otherwise.

    A leap second (`:60`) is refused: Unix time has no number for it, so it could not be dumped again.
    """
    if not _RFC3339_Z.fullmatch(text):
        raise ValueError(f"not a time of the form YYYY-MM-DDTHH:MM:SSZ: {text!r}")
    moment = datetime.fromisoformat(text)
    return int(moment.timestamp())


def dump_instant(instant: int) -> str:
    """The inverse of `parse_instant`. A limit that falls beyond the year 9999 is written as the last second of that year."""
    moment = datetime.fromtimestamp(min(instant, LAST), UTC)
    return moment.replace(tzinfo=None).isoformat(timespec="seconds") + "Z"


def local_instant(text: str, timezone: str) -> int:
    """Unix seconds of a wall-clock time `YYYY-MM-DDTHH:MM` in an IANA time zone; of a time that occurs twice, the later one.

    A wall-clock time that the clocks skip is read with the offset from before the jump, as PEP 495 does for `fold=0`.
    """
    naive = datetime.strptime(text, "%Y-%m-%dT%H:%M")
    zone = ZoneInfo(timezone)
    first, second = (int(naive.replace(tzinfo=zone, fold=fold).timestamp()) for fold in (0, 1))
    # fold=1 is the later reading of an ambiguous time, and the earlier one of a skipped time.
    return max(first, second)


def local_date(instant: int, timezone: str) -> date:
    """The calendar day of an instant in an IANA time zone; at either end of the calendar, where zones run over it, in UTC."""
    try:
        return datetime.fromtimestamp(min(instant, LAST), ZoneInfo(timezone)).date()
    except OverflowError:
        return datetime.fromtimestamp(min(instant, LAST), UTC).date()


def add_months(day: date, months: int) -> date:
    """The same day `months` calendar months later, or the last day of that month when it is shorter.

    Beyond the calendar it is the last day of the year 9999.
    """
    index = day.year * 12 + day.month - 1 + months
    year, month = divmod(index, 12)
    if year > MAXYEAR:
        return date.max
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))
