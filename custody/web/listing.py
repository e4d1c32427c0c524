"""Findings as pages list them, and the names of all that they and other rows mention."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from custody.queries.findings import ListedFinding, Wanted, choose_findings, list_latest_findings
from custody.queries.moments import look_at
from custody.queries.names import Names, get_names
from custody.queries.outstanding import Holder
from custody.queries.shown import Shown

SEVERITIES = ("critical", "warning", "notice")


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingRow:
    """One finding as a template shows it; what it says is put into words only when it is shown."""

    listed: ListedFinding
    key: str
    rule: str
    severity: str
    at: int
    site: str | None
    items: tuple[str, ...]
    people: tuple[str, ...]
    entries: tuple[str, ...]
    seals: tuple[str, ...]
    status: str
    waiting: bool
    settled_by: str | None
    referred_by: str | None

    @property
    def message(self) -> str:
        return self.listed.message

    @property
    def next(self) -> str:
        return self.listed.next


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """Codes whose names a page needs beyond what its rows mention; `holder` is a party."""

    items: tuple[str, ...] = ()
    site: str | None = None
    holder: Holder | None = None


OPEN = Wanted()


def find_findings(shown: Shown, wanted: Wanted = OPEN) -> list[FindingRow]:
    """Findings of the log that is shown, the open ones if no others are asked for: critical ones first.

    They are as of the moment that is shown; each sort comes with the latest first.
    """
    if shown.log is None:
        return []
    rows = [_row(each) for each in choose_findings(look_at(shown.log, shown.now), wanted)]
    return sorted(rows, key=lambda each: (SEVERITIES.index(each.severity), -each.at, each.key))


def list_latest(shown: Shown, election: str, most: int) -> list[FindingRow]:
    """The open findings of an election that arose last, the latest first."""
    if shown.log is None:
        return []
    return [_row(each) for each in list_latest_findings(shown.log, election, now=shown.now, most=most)]


def _row(listed: ListedFinding) -> FindingRow:
    finding, settled = listed.finding, listed.settled
    return FindingRow(
        listed=listed,
        key=finding.key,
        rule=finding.rule,
        severity=finding.severity.value,
        at=finding.at,
        site=finding.site,
        items=finding.items,
        people=finding.people,
        entries=finding.entries,
        seals=finding.seals,
        status=settled.status,
        waiting=listed.waiting,
        settled_by=settled.by.entry if settled.by else None,
        referred_by=settled.referred.entry if settled.referred else None,
    )


def name_all(shown: Shown, rows: Iterable[Any], *, personal: bool) -> Names:
    """The names of every place, person and item that rows mention in any of the members that rows here have."""
    sites: set[str | None] = set()
    people: set[str] = set()
    items: set[str | None] = set()
    for row in rows:
        sites.add(getattr(row, "site", None))
        sites.update(getattr(row, "sites", ()))
        people.update(getattr(row, "people", ()))
        items.update(getattr(row, "items", ()))
        items.update((getattr(row, "item", None), getattr(row, "container", None)))
        if (holder := getattr(row, "holder", None)) is not None:
            sites.add(holder.site)
            people.update(holder.people)
    return get_names(shown.jurisdiction, sites=sites, people=people, items=items, personal=personal)
