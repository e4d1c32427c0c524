"""What a book worked out, into the derived tables: rows of entries, versions of states, the owed list.

Only what the book wrote is touched. Findings are in `findings.py` beside this.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from django.db import connection

from custody import store
from custody.domain.amendments import amended_targets
from custody.domain.book import Book
from custody.domain.recorded import Position, Recorded
from custody.domain.returns import merge_owed
from custody.domain.state_codec import dump_state
from custody.domain.states import State
from custody.domain.views import View
from custody.models.derived import FOREVER


def write_states(log: store.LogHead, book: Book) -> None:
    """The versions that the book wrote or removed; an interval ends where the next begins."""
    removed: list[tuple[Any, ...]] = []
    rows: dict[tuple[str, Position], tuple[int, str]] = {}
    for key, position in sorted(book.tracks.written):
        state = book.tracks.at(key, position)
        before, after = book.tracks.neighbours(key, position)
        until = after[0] if after else FOREVER
        if state is None:
            removed.append((log.id, key, *position))
        else:
            rows[key, position] = (until, dump_state(state))
        if before:  # is there already, or among these: an empty text stands for the state that it has
            rows.setdefault((key, before), (until if state is None else position[0], ""))
    execute_many("DELETE FROM custody_version WHERE log_id = %s AND key = %s AND time = %s AND entry_id = %s", removed)
    insert_rows(
        "INSERT INTO custody_version (log_id, key, time, entry_id, until, state) VALUES {}"
        " ON CONFLICT (log_id, key, time, entry_id) DO UPDATE SET until = excluded.until,"
        " state = CASE excluded.state WHEN '' THEN custody_version.state ELSE excluded.state END",
        [(log.id, key, *position, *row) for (key, position), row in rows.items()],
    )


def write_entries(log: store.LogHead, book: Book) -> None:
    """A row for every entry that was applied, and who amends whom."""
    insert_rows(
        "INSERT INTO custody_onrecord (log_id, entry_id, time, at, received, seq, kind, election, site, keys) VALUES {}"
        " ON CONFLICT (log_id, entry_id) DO UPDATE SET"
        " time = excluded.time, at = excluded.at, site = excluded.site, keys = excluded.keys",
        [entry_row(log, book, recorded) for recorded in book.worked.values()],
    )
    insert_rows(
        "INSERT INTO custody_amendment (log_id, target, entry_id) VALUES {} ON CONFLICT DO NOTHING",
        [
            (log.id, target, recorded.id)
            for recorded in book.worked.values()
            for target in sorted(amended_targets(recorded.signed))
        ],
    )


def entry_row(log: store.LogHead, book: Book, recorded: Recorded) -> tuple[Any, ...]:
    entry, place = recorded.entry, book.places[recorded.id]
    keys = sorted(place.keys) if place else []
    return (
        log.id,
        recorded.id,
        recorded.time,
        entry.at,
        recorded.received,
        recorded.seq,
        entry.kind,
        entry.election,
        entry.site or "",
        json.dumps(keys, ensure_ascii=False, separators=(",", ":")),
    )


def write_owed(log: store.LogHead, book: Book, also: Iterable[str] = ()) -> None:
    """The owed list of every item whose state was written, of what lies in it, and of the items behind the keys `also`; and
    what of all that is back.

    What lies in a container is held by whoever holds the container, so that its rows follow those of the container.
    """
    written, again = _codes(key for key, _ in book.tracks.written), _codes(also)
    before, after = _world(book, book.tracks.stored), _world(book, book.tracks.last)
    removed: list[tuple[Any, ...]] = []
    added: list[tuple[Any, ...]] = []
    returned: list[tuple[Any, ...]] = []
    taken: list[tuple[Any, ...]] = []
    for code in after.with_contents(sorted(written | again)):
        old, new = _rows(log, book, before, code), _rows(log, book, after, code)
        if old != new or code in again:  # of those the register may have said something else before
            removed.extend([(log.id, code)] if old or code in again else ())
            added.extend(new)
        was, now = _back(log, book, before, code), _back(log, book, after, code)
        if was != now or code in again:
            taken.extend([(log.id, code)] if was or code in again else ())
            returned.extend(now)
    execute_many("DELETE FROM custody_owedrow WHERE log_id = %s AND item = %s", removed)
    insert_rows(
        "INSERT INTO custody_owedrow (log_id, election, site, item, kind, since, container, holder) VALUES {}",
        added,
    )
    execute_many("DELETE FROM custody_backrow WHERE log_id = %s AND item = %s", taken)
    insert_rows("INSERT INTO custody_backrow (log_id, election, site, item, kind, back) VALUES {}", returned)


def back_rows(log: store.LogHead, book: Book, code: str) -> list[tuple[Any, ...]]:
    """One row an election in which an item was owed and is back."""
    return _back(log, book, _world(book, book.tracks.last), code)


def _back(log: store.LogHead, book: Book, world: View, code: str) -> list[tuple[Any, ...]]:
    item = book.register.items.get(code)
    if item is None:
        return []
    return [
        (log.id, owed.election, owed.site, code, item.kind.value, owed.back.time)
        for owed in merge_owed(world.item(code))
        if owed.back is not None
    ]


def owed_rows(log: store.LogHead, book: Book, code: str) -> list[tuple[Any, ...]]:
    """One row an election in which an item is owed and not back; its holder is that of what is around it."""
    return _rows(log, book, _world(book, book.tracks.last), code)


def _rows(log: store.LogHead, book: Book, world: View, code: str) -> list[tuple[Any, ...]]:
    item, state = book.register.items.get(code), world.item(code)
    still = [owed for owed in merge_owed(state) if owed.back is None] if item else []
    if item is None or not still:
        return []
    held = world.holding(code)
    holder = json.dumps(held, ensure_ascii=False) if held else ""
    return [
        (log.id, owed.election, owed.site, code, item.kind.value, owed.since.time, state.container or "", holder)
        for owed in still
    ]


def _codes(keys: Iterable[str]) -> set[str]:
    return {key.partition(":")[2] for key in keys if key.startswith("item:")}


def _world(book: Book, read: Callable[[str], State]) -> View:
    """Everything on record, as `read` gives it. Its policy is asked for nothing here."""
    return View(read, book.register, book.register.policies.at(0))


ROWS = 100
"""Rows a statement at most. A statement for each row makes a handoff on PostgreSQL half as long again."""


def insert_rows(sql: str, rows: Sequence[tuple[Any, ...]]) -> None:
    """Insert rows by a statement in which `{}` stands for them, many at once; none for none. No key may come twice."""
    for start in range(0, len(rows), ROWS):
        part = rows[start : start + ROWS]
        marks = f"({', '.join(['%s'] * len(part[0]))})"
        with connection.cursor() as cursor:
            cursor.execute(sql.format(", ".join([marks] * len(part))), [value for row in part for value in row])


def execute_many(sql: str, rows: Sequence[tuple[Any, ...]]) -> None:
    """One statement for each of many rows; none for none."""
    if rows:
        with connection.cursor() as cursor:
            cursor.executemany(sql, rows)
