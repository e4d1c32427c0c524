"""Where the derived tables differ from the log: each row that is missing, one too many, or not as a fresh replay has it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django.db import connection

from custody import store
from custody.domain.amendments import amended_targets
from custody.domain.book import Book
from custody.domain.day import place_clock
from custody.domain.evaluate import place_day
from custody.domain.state_codec import dump_state
from custody.models.derived import FOREVER
from custody.projections.findings import finding_row, settle_findings
from custody.projections.writing import back_rows, entry_row, owed_rows

Row = tuple[Any, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One row of a derived table that is not what the log says: `key` names it in words of the table."""

    table: str
    key: str
    code: str  # missing, surplus, differs


def list_differences(log: store.LogHead, book: Book) -> list[Difference]:
    """Every difference between the tables of a log and a book that was worked out from its lines alone."""
    found: list[Difference] = []
    for table, columns, keys, expected in (
        ("onrecord", _ENTRY, 1, (entry_row(log, book, each)[1:] for each in book.worked.values())),
        ("version", "key, time, entry_id, until, state", 3, _versions(book)),
        ("amendment", "target, entry_id", 2, _amendments(book)),
        ("findingrow", _FINDING, 2, _findings(log, book)),
        ("owedrow", "election, site, item, kind, since, container, holder", 3, _of_items(log, book, owed_rows)),
        ("backrow", "election, site, item, kind, back", 3, _of_items(log, book, back_rows)),
        ("placerow", "election, site, closed, last_here, deadline", 2, _places(book)),
    ):
        found += _differ(table, keys, expected, _rows(log, table, columns))
    return found


_ENTRY = "entry_id, time, at, received, seq, kind, election, site, keys"
_FINDING = "scope, key, rule, severity, at, election, site, status, settled_by, settled_at, referred_by, body"


def _rows(log: store.LogHead, table: str, columns: str) -> Iterator[Row]:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {columns} FROM custody_{table} WHERE log_id = %s", [log.id])  # noqa: S608
        while rows := cursor.fetchmany(2000):
            yield from rows


def _differ(table: str, keys: int, expected: Iterable[Row], actual: Iterable[Row]) -> list[Difference]:
    wanted = {row[:keys]: row for row in expected}
    found: list[Difference] = []
    for row in actual:
        should = wanted.pop(row[:keys], None)
        if should is None:
            found.append(Difference(table=table, key=_words(row[:keys]), code="surplus"))
        elif should != row:
            found.append(Difference(table=table, key=_words(row[:keys]), code="differs"))
    found += [Difference(table=table, key=_words(key), code="missing") for key in wanted]
    return sorted(found, key=lambda each: (each.key, each.code))


def _words(key: Row) -> str:
    return " ".join(str(part) for part in key)


def _versions(book: Book) -> Iterator[Row]:
    for key in book.tracks.known():
        touched = book.tracks.all(key)
        ends = [*(position[0] for position, _ in touched[1:]), FOREVER]
        for (position, state), until in zip(touched, ends, strict=False):
            yield (key, *position, until, dump_state(state))


def _amendments(book: Book) -> Iterator[Row]:
    for recorded in book.worked.values():
        for target in amended_targets(recorded.signed):
            yield (target, recorded.id)


def _findings(log: store.LogHead, book: Book) -> Iterator[Row]:
    found = [(scope, finding) for scope, findings in book.findings.items() for finding in findings]
    settled = settle_findings(book, (finding for _, finding in found))
    for (scope, finding), how in zip(found, settled, strict=True):
        yield finding_row(log, scope, finding, how)[1:]


def _of_items(
    log: store.LogHead, book: Book, rows_of: Callable[[store.LogHead, Book, str], Iterable[Row]]
) -> Iterator[Row]:
    for key in book.tracks.known():
        if key.startswith("item:"):
            for row in rows_of(log, book, key.partition(":")[2]):
                yield row[1:]


def _places(book: Book) -> Iterator[Row]:
    for scope in book.findings:
        if scope.startswith("place:") and (day := place_day(book.register, book.tracks, scope)):
            clock = place_clock(day)
            yield (day.election.code, day.site, clock.closed, clock.last_here, clock.deadline)
