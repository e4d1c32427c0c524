"""Put one row of a register's table on record, new or in place of an earlier one, as a file of that row alone would.

What a load refuses is refused here, by the same checks; what it leaves alone is left alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from custody import registers
from custody.csvfiles import Problem, dump_csv, parse_csv
from custody.domain.register import KEY_MEMBERS, row_key
from custody.errors import CustodyError
from custody.masterdata.drafts import Draft, Load, add_rows, columns_of
from custody.masterdata.plan import check_load, list_changes
from custody.masterdata.standing import Row, Standing
from custody.services.load_register import commit_personal_values, lock_registers, write_changes


@dataclass(frozen=True, slots=True, kw_only=True)
class RowName:
    """Which row: its table, its jurisdiction, and what `row_key` gives of it."""

    table: str
    jurisdiction: str
    key: tuple[Any, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RowReport:
    """What became of a row. With problems (by column), nothing was written; `lines` is 0 too where nothing was new."""

    problems: tuple[Problem, ...] = ()
    row: RowName | None = None
    lines: int = 0


def change_row(
    table: str, cells: Mapping[str, str], *, changed: RowName | None = None, user: str, now: int
) -> RowReport:
    """Put a row on record. `cells` are those of the table's file, by column; one that is left out is empty.

    `changed` is the row that it replaces; without one the row is new, or one that left service and comes back. `user` is an
    opaque id, `now` the time of receipt. Raises `CustodyError("no-row")`.
    """
    load = Load()
    columns = columns_of(table)
    data = dump_csv([columns, [cells.get(column, "") for column in columns]])
    rows, load.problems = parse_csv(f"{table}.csv", data, columns)
    add_rows(load, table, rows)
    with transaction.atomic():
        logs = lock_registers()
        standing = {jurisdiction: registers.read_rows(log) for jurisdiction, log in logs.items()}
        if changed and find_row(standing, changed) is None:
            raise CustodyError("no-row", "The register has no such row.", table=table)
        if not load.drafts[table]:
            load.problems.append(Problem(file=f"{table}.csv", line=0, column="", reason=_("is empty")))
            return RowReport(problems=tuple(load.problems))
        (draft,) = load.drafts[table]
        load.drafts[table] += _neighbours(draft, standing, changed)
        check_load(load, standing)
        row = RowName(table=table, jurisdiction=draft.jurisdiction, key=row_key(table, draft.values))
        if not load.problems:
            _check_place(load, draft, standing, row, changed)
        if load.problems:
            return RowReport(problems=load.sorted_problems())
        personal = commit_personal_values(load, standing)
        changes, _tables = list_changes(load, standing)
        return RowReport(row=row, lines=write_changes(logs, changes, personal, user=user, now=now))


def find_row(standing: Standing, name: RowName) -> Row | None:
    """The row of that name as it stands, also when it left service."""
    rows = standing.get(name.jurisdiction)
    return rows.tables[name.table].get(name.key) if rows else None


def _neighbours(draft: Draft, standing: Standing, changed: RowName | None) -> Iterator[Draft]:
    """Rows that a load would take for absent, or for this one, if they did not stand in the file with it.

    A seal lot in a file is the whole lot; an item without code, serial number and tag is any that is like it.
    """
    table, values = draft.table, draft.values
    rows = standing.get(draft.jurisdiction)
    for key, row in rows.tables[table].items() if rows else ():
        if table == "seal_lots":
            beside = (row["maker"], row["lot"]) == (values.get("maker"), values.get("lot")) and not row.get("retired")
            # Of two parts with the same first number the later replaces the earlier: for a new one, that is a fault.
            beside = beside and (changed is None or key != changed.key)
        else:
            beside = table == "items" and "code" not in values and not row.get("serial") and not row.get("tag")
        if beside:
            yield Draft(table=table, line=0, jurisdiction=draft.jurisdiction, values=dict(row))


def _check_place(load: Load, draft: Draft, standing: Standing, row: RowName, changed: RowName | None) -> None:
    """A changed row stays where it is, and a new one is not on the register yet."""
    members = KEY_MEMBERS[draft.table]
    if changed is None:
        before = find_row(standing, row)
        if before is not None and not before.get("retired"):
            reason = _("stands on the register already: %(row)s") % {"row": " ".join(str(part) for part in row.key)}
            load.fault(draft, members[0] if len(members) == 1 else "", reason)
    elif row.jurisdiction != changed.jurisdiction:
        load.fault(draft, "jurisdiction", _("cannot be changed; retire this row and add another"))
    else:
        for member, now, before in zip(members, row.key, changed.key, strict=True):
            if now != before:
                load.fault(draft, member, _("cannot be changed; retire this row and add another"))
