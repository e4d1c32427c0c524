"""What stands on the register already, and which names there will be once a load is in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from custody.domain.register import REGISTER_TABLES, row_key
from custody.masterdata.drafts import Load

Row = Mapping[str, Any]


@dataclass(slots=True, kw_only=True)
class Rows:
    """The latest row of every key of one jurisdiction, by table, as the register log has them; retired ones too."""

    tables: dict[str, dict[tuple[Any, ...], Row]] = field(
        default_factory=lambda: {table: {} for table in REGISTER_TABLES}
    )

    def take(self, table: str, rows: Iterable[Row]) -> None:
        """The rows of one change, in order."""
        held = self.tables[table]
        for row in rows:
            held[row_key(table, row)] = row


Standing = Mapping[str, Rows]
"""By jurisdiction."""


@dataclass(slots=True, kw_only=True)
class Names:
    """The codes that a row may refer to: those on the register and those of the load, sound or not."""

    jurisdictions: set[str]
    elections: dict[str, str]
    items: dict[str, str]
    sites: set[tuple[str, str]]
    people: set[tuple[str, str]]

    def has(self, table: str, jurisdiction: str, code: str) -> bool:
        """Whether a code of sites, people, items or elections is one of that jurisdiction."""
        if table == "sites":
            return (jurisdiction, code) in self.sites
        if table == "people":
            return (jurisdiction, code) in self.people
        return (self.items if table == "items" else self.elections).get(code) == jurisdiction


def collect_names(load: Load, standing: Standing) -> Names:
    """The names after the load. A code that another jurisdiction has stays that jurisdiction's."""

    def codes(table: str) -> list[tuple[str, str]]:
        held = [(jurisdiction, key[0]) for jurisdiction, rows in standing.items() for key in rows.tables[table]]
        drafts = ((one.jurisdiction, one.values["code"]) for one in load.drafts[table] if "code" in one.values)
        return [*held, *drafts]

    return Names(
        jurisdictions={*standing, *(code for _, code in codes("jurisdictions"))},
        elections={code: jurisdiction for jurisdiction, code in reversed(codes("elections"))},
        items={code: jurisdiction for jurisdiction, code in reversed(codes("items"))},
        sites=set(codes("sites")),
        people=set(codes("people")),
    )
