"""A log at a moment: as the derived tables have it, or worked out again from the entries up to then.

The tables say how everything on record stands. That is the answer at every moment from the last entry on; for an earlier
one the entries after it, and the amendments among them, must be left out, and the rest is worked out in memory. Whoever
asks gets the same answer either way; this is the one place that chooses.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass

from django.db.models import Max, Min, Q

from custody import store
from custody.domain.amendments import entries_until
from custody.domain.book import Book, derive
from custody.domain.entries import Amend
from custody.domain.instants import parse_instant
from custody.domain.recorded import Recorded
from custody.domain.register import Register
from custody.models.derived import Amendment, OnRecord
from custody.projections.reading import Tables
from custody.projections.recorded_lines import record_log
from custody.registers import get_register

Advance = Callable[[int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """A log as it stood at `now` (Unix seconds), by today's register.

    `past` is the book of the entries until then, or `None` when the tables say it.
    """

    log: store.LogHead
    register: Register
    now: int
    past: Book | None

    def book(self) -> Book:
        """A book to read states and entries in, not to be worked on: of the past, or over the tables."""
        return self.past or Book(self.register, Tables(self.log))


def look_at(log: store.LogHead, now: int, advance: Advance = lambda _: None) -> Moment:
    """The log at `now`. `advance` hears of lines read, when the past has to be worked out."""
    last = last_time(log)
    past = last is not None and now < last
    return _moment(log, now, past=past, advance=advance)


def look_at_states(log: store.LogHead, now: int) -> Moment:
    """The log at `now` for whoever asks nothing but states: the tables keep those of every moment, as long as no amendment
    of later has a say in them.
    """
    return _moment(log, now, past=_is_amended_later(log, now), advance=lambda _: None)


def _is_amended_later(log: store.LogHead, now: int) -> bool:
    """Whether an amendment after `now` changes, or may change, what was so at `now`.

    It does not where it amends an entry, itself no amendment, that is later than `now` whichever of its amendments count.
    """
    on_record = OnRecord.objects.filter(log_id=log.id)
    amendments = Amendment.objects.filter(log_id=log.id)
    late = amendments.filter(entry_id__in=on_record.filter(kind=Amend.kind, time__gt=now).values("entry_id"))
    targets = set(late.values_list("target", flat=True))
    if not targets:
        return False
    if on_record.filter(Q(time__lte=now) | Q(kind=Amend.kind), entry_id__in=targets).exists():
        return True
    amenders = amendments.filter(target__in=targets).values_list("entry_id", flat=True)
    entries = Tables(log).load_entries(sorted(targets.union(amenders)))
    return any(time <= now for each in entries.values() for time in _possible_times(each))


def _possible_times(recorded: Recorded) -> Iterator[int]:
    """The times that an entry may have had, or that an amendment may have given to the entry that it amends."""
    signed = recorded.signed
    if not isinstance(signed, Amend):
        yield from (signed.at, recorded.received)
    elif isinstance(text := signed.replaces.get("at"), str):
        with suppress(ValueError):  # such an amendment changes nothing
            yield parse_instant(text)


def look_back(log: store.LogHead, now: int, advance: Advance = lambda _: None) -> Moment:
    """The log at `now`, worked out from its lines whatever the tables say."""
    return _moment(log, now, past=True, advance=advance)


def _moment(log: store.LogHead, now: int, *, past: bool, advance: Advance) -> Moment:
    register = get_register(log.jurisdiction)
    return Moment(log=log, register=register, now=now, past=_derive(log, register, now, advance) if past else None)


def _derive(log: store.LogHead, register: Register, now: int, advance: Advance) -> Book:
    def counted() -> Iterator[store.StoredLine]:
        for line in store.read_lines(log):
            advance(1)
            yield line

    return derive(entries_until(record_log(counted()), now), register)


def parse_moment(text: str) -> int:
    """Unix seconds of a time such as `2026-11-04T03:14:09Z`. Raises `ValueError`."""
    return parse_instant(text)


def last_time(log: store.LogHead) -> int | None:
    """The time of the last entry in custody order; `None` when nothing is on record."""
    latest: int | None = OnRecord.objects.filter(log_id=log.id).aggregate(latest=Max("time"))["latest"]
    return latest


def first_time(log: store.LogHead) -> int | None:
    """The time of the first entry in custody order; `None` when nothing is on record."""
    earliest: int | None = OnRecord.objects.filter(log_id=log.id).aggregate(earliest=Min("time"))["earliest"]
    return earliest


def present(log: store.LogHead, clock: int) -> int:
    """The moment that is meant when none is given: by the clock, or the last entry of a rehearsal whose script lies ahead.

    In earnest nothing is on record that lies ahead of the clock.
    """
    return max(clock, last_time(log) or clock)
