"""The plan of a load: everything checked together, then what would change, row by row."""

from __future__ import annotations

from dataclasses import dataclass

from custody.domain.register import row_key
from custody.masterdata.checks import (
    check_doubles,
    check_owners,
    check_references,
    check_strength,
    check_times,
    place,
    spread_keys,
)
from custody.masterdata.drafts import TABLES, Load
from custody.masterdata.items import Issued, check_tags, settle_codes
from custody.masterdata.lots import check_lots, withdrawn_parts
from custody.masterdata.standing import Row, Rows, Standing, collect_names

Changes = dict[str, list[Row]]
"""By table, in the order in which rows refer to one another, whole rows that are new or differ."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TableCount:
    """What a load does to one table, in rows. `withdrawn` are parts of seal lots that the file no longer lists."""

    table: str
    new: int = 0
    changed: int = 0
    unchanged: int = 0
    withdrawn: int = 0


def check_load(load: Load, standing: Standing) -> list[Issued]:
    """Find everything that is wrong, into `load.problems`; give items their codes, and return those that were issued.

    Afterwards, and only if there is no problem, every draft is a whole row, but for what `people` keep to themselves.
    """
    names = collect_names(load, standing)
    place(load, names)
    spread_keys(load, standing)
    check_owners(load, standing)
    check_strength(load, standing)
    check_doubles(load)
    check_references(load, names)
    check_times(load)
    check_lots(load, standing)
    issued = settle_codes(load, standing)
    check_tags(load, standing)
    return issued


def list_changes(load: Load, standing: Standing) -> tuple[dict[str, Changes], tuple[TableCount, ...]]:
    """By jurisdiction, what would be written; and how many rows of each table that is. The load has no problems."""
    changes: dict[str, Changes] = {}
    counts = []
    for table in TABLES:
        new, changed, unchanged, withdrawn = 0, 0, 0, 0
        for draft in load.drafts[table]:
            rows = standing.get(draft.jurisdiction) or Rows()
            before = rows.tables[table].get(row_key(table, draft.values))
            if before == draft.values:
                unchanged += 1
                continue
            new, changed = new + (before is None), changed + (before is not None)
            changes.setdefault(draft.jurisdiction, {}).setdefault(table, []).append(draft.values)
        for jurisdiction in {one.jurisdiction for one in load.drafts[table]} if table == "seal_lots" else ():
            parts = list(withdrawn_parts(load, standing, jurisdiction))
            if parts:
                # Withdrawn first: a new part may take over their numbers.
                held = changes.setdefault(jurisdiction, {}).setdefault(table, [])
                held[:0] = parts
                withdrawn += len(parts)
        if load.drafts[table]:
            counts.append(TableCount(table=table, new=new, changed=changed, unchanged=unchanged, withdrawn=withdrawn))
    return changes, tuple(counts)
