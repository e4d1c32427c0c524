"""Apply arrivals to the derived tables, in the transaction that appended them; make them all again; compare them with the log."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

from django.db import connection

from custody import store
from custody.domain.book import Book, work_out
from custody.domain.evaluate import scopes_of
from custody.domain.recorded import Recorded
from custody.domain.register import Register
from custody.domain.states import Moment, empty_state
from custody.domain.views import item_key, number_key, person_key, place_key
from custody.projections.findings import write_findings
from custody.projections.places import write_places
from custody.projections.reading import Tables, query_in
from custody.projections.recorded_lines import record_log
from custody.projections.writing import write_entries, write_owed, write_states

Row = Mapping[str, Any]

DERIVED = ("onrecord", "version", "amendment", "findingrow", "withdrawn", "owedrow", "backrow", "placerow")


def apply(log: store.LogHead, register: Register, arrivals: Iterable[Recorded], *, fresh: Iterable[str]) -> Book:
    """Work out what arrivals change, and write it. `fresh` are the ids among them that no line had before."""
    arrivals, fresh = list(arrivals), frozenset(fresh)
    book = Book(register, Tables(log, fresh))
    work_out(book, book.take(arrivals))
    # What arrives together is judged together, at its last receipt: whoever replays hours at once cuts them small enough.
    latest = max(arrivals, key=lambda each: each.seq, default=None)
    arrival = Moment(latest.time, latest.id) if latest else None
    _write(log, book, arrival=arrival, now=max((each.received for each in arrivals), default=0), fresh=fresh)
    return book


def _write(
    log: store.LogHead,
    book: Book,
    *,
    arrival: Moment | None,
    now: int,
    changed: Iterable[str] = (),
    fresh: Iterable[str] = (),
) -> None:
    """Write what a book worked out; `changed` are keys whose rows on the register changed, whatever that did to them."""
    write_entries(log, book)
    write_states(log, book)
    write_owed(log, book, changed)
    write_places(log, book)
    write_findings(log, book, arrival=arrival, now=now, fresh=fresh)


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


def rederive(
    jurisdiction: str, before: Register, register: Register, changes: Mapping[str, Sequence[Row]], *, now: int
) -> None:
    """Apply again what a change of the register bears on, in every log of the jurisdiction, in the same transaction.

    Items, kits, people, keys, assignments, lots and elections: the entries that they touch. A policy or a place can bear on
    anything, so that the whole log is worked out again.
    """
    for log in store.list_logs():
        if log.jurisdiction != jurisdiction or log.kind is store.LogKind.REGISTER or not log.size:
            continue
        log = store.lock_head(log)
        if changes.keys() & {"policy", "sites"}:
            rebuild(log, register)
            continue
        keys = {key for table, rows in changes.items() for row in rows for key in _keys_of(before, table, row)}
        keys.update(_lot_keys(log, changes.get("seal_lots", ())))
        elections = [str(row["code"]) for row in changes.get("elections", ())]
        further = _stock_scopes(log) if "seal_lots" in changes else set()
        _apply_again(log, register, keys, elections, further, now=now)


def _apply_again(
    log: store.LogHead, register: Register, keys: set[str], elections: Sequence[str], further: set[str], *, now: int
) -> None:
    ids = _column(
        "SELECT DISTINCT entry_id FROM custody_version WHERE log_id = %s AND key IN ({})", (log.id,), sorted(keys)
    )
    ids += _column("SELECT entry_id FROM custody_onrecord WHERE log_id = %s AND election IN ({})", (log.id,), elections)
    book = Book(register, Tables(log))
    book.tracks.prepare_last(keys)
    scopes = {scope for key in keys for scope in scopes_of(register, key, empty_state(key), book.tracks.last(key))}
    scopes |= {key for key in keys if key.startswith("place:")} | further
    work_out(book, dict.fromkeys(ids), scopes)
    _write(log, book, arrival=None, now=now, changed=keys)


def _keys_of(before: Register, table: str, row: Row) -> list[str]:
    """The keys of the states that a row of the register bears on, as it is now and as it was before."""
    match table:
        case "items":
            known = before.items.get(row["code"])
            opened = {*row.get("opens", ()), *(known.opens if known else ())}
            return [item_key(code) for code in (row["code"], *sorted(opened))]
        case "kits":
            sites = {row["site"], before.kit_site.get((row["election"], row["item"]), row["site"])}
            return [item_key(row["item"]), *(place_key(row["election"], site) for site in sorted(sites))]
        case "people":
            return [person_key(row["code"])]
        case "keys" | "assignments":
            return [person_key(row["person"])]
        case _:
            return []


def _lot_keys(log: store.LogHead, lots: Iterable[Row]) -> list[str]:
    """The numbers of lots that are on record: of one width, numbers sort as their text does."""
    keys: list[str] = []
    for row in lots:
        first, last = (number_key(f"{row['prefix']}{row[end]:0{row['width']}d}") for end in ("first", "last"))
        keys += _column(
            "SELECT DISTINCT key FROM custody_version WHERE log_id = %s AND key >= %s AND key <= %s AND key NOT IN ({})",
            (log.id, first, last),
            [""],
        )
    return keys


def _stock_scopes(log: store.LogHead) -> set[str]:
    """The seal stocks of every place that is on record."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT election, site FROM custody_placerow WHERE log_id = %s", [log.id])
        return {f"stock:{election}/{site}" for election, site in cursor.fetchall()}


def _column(sql: str, values: Sequence[object], wanted: Iterable[str]) -> list[str]:
    return [row[0] for row in query_in(sql, values, wanted)]
