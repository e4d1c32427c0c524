"""Findings at a moment: those open, or all that there ever were, with how each stands and in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from custody import store
from custody.domain.book import Book
from custody.domain.day import place_clock
from custody.domain.evaluate import place_day
from custody.domain.findings import Finding, Severity
from custody.domain.instants import dump_instant
from custody.domain.judge import WAITING_RULES, PlaceClock, Settled, finding_order, is_waiting, merge_findings
from custody.domain.rules import RULE_CODES as RULE_CODES
from custody.messages import render
from custody.models.derived import PlaceRow
from custody.projections.chosen_findings import (
    EVERYTHING as EVERYTHING,
)
from custody.projections.chosen_findings import (
    OPEN,
    WITHDRAWN,
    list_chosen_rules,
    list_chosen_sites,
    read_findings,
    read_standing,
    read_withdrawn,
)
from custody.projections.chosen_findings import (
    Wanted as Wanted,
)
from custody.projections.findings import read_latest_findings, settle_findings
from custody.queries.moments import Advance, Moment, look_at

Stands = tuple[Finding, Settled]
Clocks = Mapping[tuple[str, str], PlaceClock]

_ORDER = {severity: place for place, severity in enumerate(Severity)}


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedFinding:
    """One finding and how it stands. `message` and `next` are in the language in force."""

    finding: Finding
    settled: Settled
    waiting: bool

    @property
    def message(self) -> str:
        return render(self.finding)[0]

    @property
    def next(self) -> str:
        return render(self.finding)[1]

    def as_json(self) -> dict[str, Any]:
        """The finding as outside programs know it. `site` is null for what happened on the road."""
        finding = self.finding
        message, then = render(finding)
        document: dict[str, Any] = {
            "key": finding.key,
            "rule": finding.rule,
            "severity": finding.severity.value,
            "at": dump_instant(finding.at),
            "site": finding.site,
            "items": list(finding.items),
            "people": list(finding.people),
            "entries": list(finding.entries),
            "seals": list(finding.seals),
            "status": self.settled.status,
        }
        if self.waiting:
            document["waiting"] = True
        return document | {"message": message, "next": then}


def list_findings(
    log: store.LogHead,
    *,
    now: int,
    election: str | None = None,
    site: str | None = None,
    rule: str | None = None,
    everything: bool = False,
    advance: Advance = lambda _: None,
) -> list[ListedFinding]:
    """The findings that are open at `now`; with `everything`, those resolved, cleared and withdrawn as well.

    Critical ones come first, then by time and key. `election`, `site` (where it arose) and `rule` choose among them.
    """
    wanted = Wanted(election=election, site=site, rule=rule, statuses=EVERYTHING if everything else OPEN)
    return choose_findings(look_at(log, now, advance), wanted)


def choose_findings(moment: Moment, wanted: Wanted) -> list[ListedFinding]:
    """The findings that are asked for, at a moment that is already looked at, in the order of `list_findings`."""
    standing = _stand(moment, wanted)
    if "withdrawn" in wanted.statuses:
        standing += _withdrawn(moment, wanted)
    chosen = [(finding, settled) for finding, settled in standing if wanted.fits(finding, settled.status)]
    clocks = _clocks(moment) if any(finding.rule in WAITING_RULES for finding, _ in chosen) else {}
    listed = [
        ListedFinding(finding=finding, settled=settled, waiting=is_waiting(finding, settled, clocks, moment.now))
        for finding, settled in chosen
    ]
    return sorted(listed, key=lambda each: (_ORDER[each.finding.severity], each.finding.at, each.finding.key))


def list_latest_findings(log: store.LogHead, election: str, *, now: int, most: int) -> list[ListedFinding]:
    """The open findings of an election that arose last, the latest first; as everything on record has it."""
    stored = read_latest_findings(log, election, until=now, most=most)
    standing = _merge((each.finding, each.settled) for each in stored)
    opened = [(finding, settled) for finding, settled in standing if settled.status == "open"]
    origins = {finding.origin for finding, _ in opened if finding.origin and finding.rule in WAITING_RULES}
    clocks = _clocks_of_rows(PlaceRow.objects.filter(log_id=log.id, site__in=sorted(origins))) if origins else {}
    listed = [
        ListedFinding(finding=finding, settled=settled, waiting=is_waiting(finding, settled, clocks, now))
        for finding, settled in opened
    ]
    return sorted(listed, key=lambda each: (-each.finding.at, _ORDER[each.finding.severity], each.finding.key))


def _stand(moment: Moment, wanted: Wanted) -> list[Stands]:
    """The findings that arose by then and may be wanted, one a key, and how each stands."""
    if wanted.statuses == WITHDRAWN:
        return []
    if moment.past is None:
        stored = read_findings(moment.log, wanted, until=moment.now)
        return _merge((each.finding, each.settled) for each in stored)
    found = _found(moment.past, moment.now)
    return _merge(zip(found, settle_findings(moment.past, found), strict=True))


def _withdrawn(moment: Moment, wanted: Wanted) -> list[Stands]:
    """What was once shown and is no finding now. The journal knows no moments: it is as of everything on record."""
    gone = read_withdrawn(moment.log, wanted, until=moment.now)
    if moment.past is None:
        standing = read_standing(moment.log, list(gone), until=moment.now)
    else:
        standing = {each.key for each in _found(moment.past, moment.now)}
    return [stands for key, stands in gone.items() if key not in standing]


def _found(book: Book, now: int) -> list[Finding]:
    return [each for findings in book.findings.values() for each in findings if each.shown_from <= now]


@dataclass(frozen=True, slots=True, kw_only=True)
class Occurring:
    """What findings of a log can be chosen by: rules that found anything, and places where they did, by code."""

    rules: list[str]
    sites: list[str]


def list_occurring(log: store.LogHead) -> Occurring:
    return Occurring(rules=list_chosen_rules(log), sites=list_chosen_sites(log))


def _merge(stands: Iterable[Stands]) -> list[Stands]:
    """One finding a key: the earliest, as it stands, naming what any of them names (`judge.merge_findings`)."""
    ordered = sorted(stands, key=lambda each: finding_order(each[0]))
    first: dict[str, Settled] = {}
    for finding, settled in ordered:
        first.setdefault(finding.key, settled)
    return [(finding, first[finding.key]) for finding in merge_findings(finding for finding, _ in ordered)]


def _clocks(moment: Moment) -> Clocks:
    """The clocks of all polling places."""
    if moment.past is not None:
        return _clocks_of(moment.past)
    return _clocks_of_rows(PlaceRow.objects.filter(log_id=moment.log.id))


def _clocks_of_rows(rows: QuerySet[PlaceRow]) -> Clocks:
    values = rows.values_list("election", "site", "closed", "last_here", "deadline")
    return {
        (election, site): PlaceClock(closed=closed, last_here=last_here, deadline=deadline)
        for election, site, closed, last_here, deadline in values
    }


def _clocks_of(book: Book) -> Clocks:
    days = (place_day(book.register, book.tracks, scope) for scope in book.findings if scope.startswith("place:"))
    return {(day.election.code, day.site): place_clock(day) for day in days if day is not None}
