"""Apply arrivals to the derived tables, in the transaction that appended them; make them all again; compare them with the log."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from django.db import connection

from custody import store
from custody.domain.book import Book, work_out
from custody.domain.evaluate import scopes_of
from custody.domain.recorded import Recorded
from custody.domain.register import Register
from custody.domain.states import Moment, empty_state
from custody.domain.views import item_key, person_key
from custody.projections.findings import write_findings
from custody.projections.places import write_places
from custody.projections.reading import Tables, query_in
from custody.projections.recorded_lines import record_log
from custody.projections.writing import write_entries, write_owed, write_states

DERIVED = ("onrecord", "version", "amendment", "findingrow", "withdrawn", "owedrow", "placerow")


def apply(log: store.LogHead, register: Register, arrivals: Iterable[Recorded], *, fresh: Iterable[str]) -> Book:
    """Work out what arrivals change, and write it. `fresh` are the ids among them that no line had before."""
    arrivals = list(arrivals)
    book = Book(register, Tables(log, fresh))
    work_out(book, book.take(arrivals))
    latest = max(arrivals, key=lambda each: each.seq, default=None)
    arrival = Moment(latest.time, latest.id) if latest else None
    _write(log, book, arrival=arrival, now=latest.received if latest else 0)
    return book


def _write(log: store.LogHead, book: Book, *, arrival: Moment | None, now: int) -> None:
    write_entries(log, book)
    write_states(log, book)
    write_owed(log, book)
    write_places(log, book)
    write_findings(log, book, arrival=arrival, now=now)


def rebuild(log: store.LogHead, register: Register, advance: Callable[[int], None] = lambda _: None) -> Book:
    """Empty the derived tables of one log and make them again from its lines. `advance` hears of lines read.

    The journal of withdrawn findings tells what was on show when, which no log can tell again: it is kept.
    """
    for table in DERIVED:
        if table != "withdrawn":
            with connection.cursor() as cursor:
                cursor.execute(f"DELETE FROM custody_{table} WHERE log_id = %s", [log.id])  # noqa: S608
    book = derive_log(log, register, advance)
    _write(log, book, arrival=None, now=0)
    return book


def derive_log(log: store.LogHead, register: Register, advance: Callable[[int], None] = lambda _: None) -> Book:
    """The book of a whole log, worked out in memory from its lines alone."""

    def counted() -> Iterator[store.StoredLine]:
        for line in store.read_lines(log):
            advance(1)
            yield line

    book = Book(register)
    work_out(book, book.take(record_log(counted())))
    return book


def rederive(log: store.LogHead, register: Register, keys: Iterable[str], *, now: int) -> None:
    """Apply again every entry that touched one of these keys, since the register says something else of them now."""
    keys = sorted(keys)
    ids = [
        row[0]
        for row in query_in(
            "SELECT DISTINCT entry_id FROM custody_version WHERE log_id = %s AND key IN ({})", (log.id,), keys
        )
    ]
    book = Book(register, Tables(log))
    book.tracks.prepare_last(keys)
    scopes = {scope for key in keys for scope in scopes_of(register, key, empty_state(key), book.tracks.last(key))}
    work_out(book, dict.fromkeys(ids), scopes)
    _write(log, book, arrival=None, now=now)


def keys_of_rows(table: str, rows: Iterable[dict[str, object]]) -> set[str] | None:
    """The keys of the states that a change of the register bears on, or `None` when it may bear on everything."""
    match table:
        case "items":
            codes = [str(row["code"]) for row in rows]
            return {item_key(code) for code in codes}
        case "kits":
            return {item_key(str(row["item"])) for row in rows} | {
                f"place:{row['election']}/{row['site']}" for row in rows
            }
        case "people":
            return {person_key(str(row["code"])) for row in rows}
        case "keys" | "assignments":
            return {person_key(str(row["person"])) for row in rows}
        case _:
            return None
