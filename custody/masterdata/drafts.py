"""Drafts: the rows of the nine files, cell by cell made into what would stand on the register.

A draft that is not sound still says which code it wanted to give, so that one slip is not reported again by every row
that refers to it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from django.utils.translation import gettext as _

from custody.csvfiles import CsvRow, Problem
from custody.domain.vocabulary import ItemKind, Role, SiteKind
from custody.masterdata import cells


class SealClass(StrEnum):
    """ISO 17712: indicative, security, high security."""

    INDICATIVE = "I"
    SECURITY = "S"
    HIGH = "H"


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: its name, how a cell of it is read, and whether the cell may be empty."""

    name: str
    read: cells.Read
    may_be_empty: bool = False


def _must(name: str, read: cells.Read = cells.read_code) -> Column:
    return Column(name=name, read=read)


def _may(name: str, read: cells.Read = cells.read_code) -> Column:
    return Column(name=name, read=read, may_be_empty=True)


_JURISDICTION = _must("jurisdiction")

TABLES: Mapping[str, tuple[Column, ...]] = {
    "jurisdictions": (_must("code"), _must("name", cells.read_text), _must("timezone", cells.read_zone)),
    "elections": (
        _JURISDICTION,
        _must("code"),
        _must("name", cells.read_text),
        _must("date", cells.read_date),
        _must("timezone", cells.read_zone),
        _must("polls_open", cells.read_local_time),
        _must("polls_close", cells.read_local_time),
        _must("return_deadline", cells.read_local_time),
    ),
    "sites": (
        _JURISDICTION,
        _must("code"),
        _must("name", cells.read_text),
        _must("kind", cells.word_of(SiteKind)),
        _may("address", cells.read_text),
        _may("phone", cells.read_text),
    ),
    "people": (
        _JURISDICTION,
        _must("code"),
        _must("name", cells.read_text),
        _may("phone", cells.read_text),
        _may("affiliation", cells.read_text),
        _may("public_key", cells.read_public_key),
    ),
    "keys": (
        _JURISDICTION,
        _must("person"),
        _must("public_key", cells.read_public_key),
        _may("valid_from", cells.read_instant),
        _may("valid_until", cells.read_instant),
        _may("revoked_at", cells.read_instant),
    ),
    "items": (
        _JURISDICTION,
        _may("code", cells.read_item_code),
        _must("kind", cells.word_of(ItemKind)),
        _may("description", cells.read_text),
        _may("serial", cells.read_text),
        _may("tag", cells.read_text),
        _may("home_site"),
        _may("seal_points", cells.list_of(cells.read_seal_point)),
        _may("opens", cells.list_of(cells.read_item_code)),
    ),
    "assignments": (_must("election"), _must("person"), _must("role", cells.word_of(Role)), _may("site")),
    "seal_lots": (
        _JURISDICTION,
        _must("maker", cells.read_text),
        _may("class", cells.word_of(SealClass)),
        _must("lot", cells.read_text),
        _may("prefix", cells.read_text),
        _must("first", cells.read_number),
        _must("last", cells.read_number),
        _must("width", cells.read_width),
        _may("issued_to"),
        _may("election"),
    ),
    "kits": (_must("election"), _must("site"), _must("item", cells.read_item_code)),
}
"""By table, which is also the name of its file without `.csv`, the columns. A table follows those it refers to."""


@dataclass(slots=True, kw_only=True)
class Draft:
    """One row on its way to the register: `values` as read, without what is empty.

    `jurisdiction` is empty until it is known, for tables that name an election instead. `file` differs from the table
    for a key that came with its person.
    """

    table: str
    line: int
    values: dict[str, Any]
    jurisdiction: str = ""
    file: str = ""
    sound: bool = True


@dataclass(slots=True, kw_only=True)
class Load:
    """Everything that is to be loaded together, and what is wrong with it."""

    drafts: dict[str, list[Draft]] = field(default_factory=lambda: {table: [] for table in TABLES})
    problems: list[Problem] = field(default_factory=list)

    def fault(self, draft: Draft, column: str, reason: str) -> None:
        draft.sound = False
        self.problems.append(Problem(file=file_of(draft), line=draft.line, column=column, reason=reason))

    def sorted_problems(self) -> tuple[Problem, ...]:
        """By file in the order of the tables, then by line."""
        order = {f"{table}.csv": place for place, table in enumerate(TABLES)}
        return tuple(sorted(self.problems, key=lambda one: (order.get(one.file, -1), one.file, one.line, one.column)))


def file_of(draft: Draft) -> str:
    """The name of the file that a draft stands in."""
    return draft.file or f"{draft.table}.csv"


def columns_of(table: str) -> tuple[str, ...]:
    """The names of a file's columns, in the usual order."""
    return tuple(column.name for column in TABLES[table])


def dump_cells(table: str, row: Mapping[str, Any]) -> dict[str, str]:
    """A row of the register as the cells of its file, by column: the inverse of reading them."""
    return {column.name: _dump_cell(row.get(column.name, "")) for column in TABLES[table]}


def _dump_cell(value: Any) -> str:
    return ";".join(value) if isinstance(value, list) else str(value)


def add_rows(load: Load, table: str, rows: Iterable[CsvRow]) -> None:
    """Read the rows of one table into drafts; what is wrong with a cell becomes a problem."""
    columns = TABLES[table]
    for row in rows:
        draft = Draft(table=table, line=row.line, values={})
        for column in columns:
            _read_cell(load, draft, column, row.cells.get(column.name))
        draft.jurisdiction = draft.values.pop("jurisdiction", "")
        load.drafts[table].append(draft)


def _read_cell(load: Load, draft: Draft, column: Column, cell: str | None) -> None:
    if cell is None:  # reported when the file was read
        draft.sound = False
    elif cell:
        try:
            draft.values[column.name] = column.read(cell)
        except ValueError as error:
            load.fault(draft, column.name, str(error))
    elif not column.may_be_empty:
        load.fault(draft, column.name, _("is empty"))
