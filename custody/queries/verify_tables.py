"""What was worked out from the logs under scrutiny: the register's tables, personal values, and the derived tables."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from custody import register_tables, store
from custody.domain.book import Book, work_out
from custody.domain.recorded import Recorded
from custody.domain.register import Register
from custody.errors import CustodyError
from custody.ledger.canonical import parse_canonical
from custody.projections.compare import list_differences
from custody.queries.verify_lines import Problem, parse_row

_MEANING = (CustodyError, ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError)

_ROWS = {
    "missing": "A row that follows from the log is missing.",
    "surplus": "A row does not follow from the log.",
    "differs": "A row is not as it follows from the log.",
}
_REGISTER = "A row of the register is not as its log has it."
_COMMITMENT = "A personal value does not fit its commitment on record."


@dataclass(slots=True, kw_only=True)
class RegisterOnRecord:
    """A jurisdiction's register, read from its log's rows whatever state they are in; `unread` are lines that say nothing."""

    register: Register = field(default_factory=Register)
    changes: list[tuple[int, Mapping[str, Any]]] = field(default_factory=list)
    unread: list[tuple[int, str]] = field(default_factory=list)


def read_register(log: store.LogHead) -> RegisterOnRecord:
    """The register as the lines of its log make it. What cannot be read is passed over, and told."""
    found = RegisterOnRecord()
    for values in store.read_rows(log, "line"):
        row = parse_row(values)
        if row is None:
            continue
        draft = Register()
        try:
            change = parse_canonical(row.body)["change"]
            draft.apply(change["table"], change["rows"])
        except _MEANING as error:
            found.unread.append((row.seq, str(error)))
            continue
        found.register.apply(change["table"], change["rows"])
        found.changes.append((row.seq, change))
    return found


def check_register(log: store.LogHead, found: RegisterOnRecord) -> Iterator[Problem]:
    """The register's tables against its log, and the personal values against their commitments."""
    for seq, why in found.unread:
        yield Problem(log=log.path, seq=seq, code="bad-change", detail=f"The line changes nothing that can be: {why}")
    for row in register_tables.compare_changes(log.jurisdiction, found.changes):
        yield _row(log.path, row, "differs-row", _REGISTER)
    for value in register_tables.compare_personal_values(log.jurisdiction):
        yield _row(log.path, f"personalvalue {value}", "bad-commitment", _COMMITMENT)


def check_strays(jurisdictions: Iterable[str]) -> Iterator[Problem]:
    """Rows of the register that belong to no jurisdiction."""
    for row in register_tables.list_strays(jurisdictions):
        yield _row("", row, "surplus-row", "A row of the register is of a jurisdiction that has no log.")


def check_derived(log: store.LogHead, register: Register, entries: Iterable[Recorded]) -> Iterator[Problem]:
    """The derived tables against what the entries give, worked out afresh."""
    book = Book(register)
    work_out(book, book.take(entries))
    for each in list_differences(log, book):
        yield _row(log.path, f"{each.table} {each.key}", f"{each.code}-row", _ROWS[each.code])


def _row(log: str, row: str, code: str, detail: str) -> Problem:
    """A row is named by its table and, after a space, its key, which may hold bytes that are no text."""
    table, _, key = row.partition(" ")
    key = key.encode("utf-8", "backslashreplace").decode()
    return Problem(log=log, table=table, key=key, code=code, detail=detail)
