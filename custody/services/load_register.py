"""Load the register from a folder of CSV files: all or nothing, and the same folder again changes nothing.

Rows that are on the register already are updated; nothing is taken away because a file leaves it out, except parts of a
seal lot that the file does list (`masterdata.lots`).
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from django.db import transaction
from django.utils.translation import gettext as _

from custody import register_tables, registers, store
from custody.csvfiles import Problem, parse_csv
from custody.errors import CustodyError
from custody.masterdata.drafts import TABLES, Load, add_rows, columns_of
from custody.masterdata.items import Issued
from custody.masterdata.plan import Changes, TableCount, check_load, list_changes
from custody.masterdata.standing import Standing
from custody.models.register import SALT_BYTES, PersonalField, PersonalValue
from custody.services.append_changes import append_changes

Tell = Callable[[str], None]


@dataclass(slots=True, kw_only=True)
class Personal:
    """Of one jurisdiction: values to keep (person, field, value, salt), and those to erase (person, field)."""

    fresh: list[tuple[str, str, str, bytes]] = field(default_factory=list)
    gone: list[tuple[str, str]] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadReport:
    """What a load did, or would do. With problems, nothing was written and nothing else is told.

    `issued` lists the item codes that rows without a code were given; of a dry run, those that they would be given now.
    `lines` is the number of lines that went on the register logs.
    """

    dry_run: bool
    problems: tuple[Problem, ...] = ()
    tables: tuple[TableCount, ...] = ()
    issued: tuple[Issued, ...] = ()
    lines: int = 0


def load_register(folder: Path, *, user: str, now: int, dry_run: bool, tell: Tell = lambda step: None) -> LoadReport:
    """Load the files of a folder. `user` is an opaque id, `now` the time of receipt; `tell` hears which step begins.

    Raises `CustodyError("no-csv-files")` when there is nothing to load. What is wrong with the files is in the report.
    """
    load = Load()
    for table, data in read_folder(folder, load).items():
        tell(_("reading %(file)s") % {"file": f"{table}.csv"})
        rows, problems = parse_csv(f"{table}.csv", data, columns_of(table))
        load.problems += problems
        add_rows(load, table, rows)
    with transaction.atomic():
        tell(_("reading the register"))
        logs = {log.jurisdiction: log for log in registers.list_register_logs()} if dry_run else lock_registers()
        standing = {jurisdiction: registers.read_rows(log) for jurisdiction, log in logs.items()}
        tell(_("checking the rows"))
        issued = check_load(load, standing)
        if load.problems:
            return LoadReport(dry_run=dry_run, problems=load.sorted_problems())
        personal = commit_personal_values(load, standing)
        changes, tables = list_changes(load, standing)
        lines = 0
        if not dry_run:
            tell(_("writing"))
            lines = write_changes(logs, changes, personal, user=user, now=now)
    return LoadReport(dry_run=dry_run, tables=tables, issued=tuple(issued), lines=lines)


def lock_registers() -> dict[str, store.LogHead]:
    """The register logs by jurisdiction, locked until the transaction ends.

    Codes are unique in the installation, so whoever adds rows takes turns: every head, always in the same order.
    """
    return {log.jurisdiction: store.lock_head(log) for log in registers.list_register_logs()}


def read_folder(folder: Path, load: Load) -> Mapping[str, bytes]:
    """The bytes of the files that are there, by table in the tables' order. Other files than CSV are passed over."""
    if not folder.is_dir():
        raise CustodyError("no-csv-files", f"There is no folder {folder}.", folder=str(folder))
    names = sorted(path.name for path in folder.iterdir() if path.name.lower().endswith(".csv") and path.is_file())
    if not names:
        raise CustodyError("no-csv-files", f"There are no CSV files in {folder}.", folder=str(folder))
    known = {f"{table}.csv": table for table in TABLES}
    for name in names:
        if name not in known:
            reason = _("is not a file that is known here; the files are %(files)s") % {"files": ", ".join(known)}
            load.problems.append(Problem(file=name, line=0, column="", reason=reason))
    return {table: (folder / name).read_bytes() for name, table in known.items() if name in names}


def commit_personal_values(load: Load, standing: Standing) -> dict[str, Personal]:
    """Replace the names and phone numbers in people's rows by commitments; what to keep and erase, by jurisdiction.

    A value that did not change keeps its salt, and so its commitment. One that was erased is committed to anew; one
    that is no longer given is erased, as there is no commitment for it to go with.
    """
    people = load.drafts["people"]
    found: dict[str, Personal] = {draft.jurisdiction: Personal() for draft in people}
    kept: dict[tuple[str, str, str], bytes] = {}
    for jurisdiction in found:
        rows = PersonalValue.objects.filter(jurisdiction=jurisdiction).values_list("person", "field", "salt")
        kept |= {(jurisdiction, person, name): bytes(salt) for person, name, salt in rows}
    for draft in people:
        code, personal = draft.values["code"], found[draft.jurisdiction]
        rows_before = standing.get(draft.jurisdiction)
        before = rows_before.tables["people"].get((code,), {}) if rows_before else {}
        for name in PersonalField.values:
            value = draft.values.pop(name, None)
            salt = kept.get((draft.jurisdiction, code, name))
            if value is not None:
                if salt is None or register_tables.commitment(value, salt) != before.get(f"{name}_commitment"):
                    salt = secrets.token_bytes(SALT_BYTES)
                    personal.fresh.append((code, name, value, salt))
                draft.values[f"{name}_commitment"] = register_tables.commitment(value, salt)
            elif salt is not None:
                personal.gone.append((code, name))
    return found


def write_changes(
    logs: Mapping[str, store.LogHead],
    changes: Mapping[str, Changes],
    personal: Mapping[str, Personal],
    *,
    user: str,
    now: int,
) -> int:
    """Write what changed, by jurisdiction, into the logs that are locked; how many lines that is."""
    return sum(
        _write(logs.get(one), one, changes[one], personal.get(one) or Personal(), user=user, now=now)
        for one in sorted(changes)
    )


def _write(
    log: store.LogHead | None, jurisdiction: str, changes: Changes, personal: Personal, *, user: str, now: int
) -> int:
    """Write what changed in one jurisdiction; how many lines that is. `log` is locked, or `None` for a new one."""
    if log is None:
        store.make_log(jurisdiction, "main", store.LogKind.MAIN)
        log = store.lock_head(store.make_log(jurisdiction, registers.LOG, store.LogKind.REGISTER))
        if log.size:
            # Somebody made this jurisdiction since the logs were listed: what was checked is no longer true.
            raise CustodyError("busy", f"Another load of {jurisdiction} came first; load again.", log=log.path)
    register_tables.write_personal_values(jurisdiction, personal.fresh)
    register_tables.erase_personal_values(jurisdiction, personal.gone)
    return len(append_changes(log, changes, user=user, now=now))
