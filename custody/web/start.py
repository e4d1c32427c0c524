"""The start page: what is not back yet, place by place, and what needs looking at now."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import ngettext

from custody.queries.names import Names
from custody.queries.outstanding import Holder, OutstandingItem, list_outstanding
from custody.queries.places import get_current_election, list_active_places
from custody.queries.shown import Shown
from custody.web.access import may_see_people, page
from custody.web.listing import SEVERITIES, find_findings, name_all

FINDINGS, WAITING = 25, 10
"""So many are shown here; the page of findings has them all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldingShown:
    """Things of one place that one party holds since one moment; `holder` is a party, or `None`."""

    holder: Holder | None
    since: int
    phone: str
    overdue: bool
    things: Sequence[OutstandingItem]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceShown:
    """A polling place from which something is not back yet."""

    site: str
    phone: str
    holdings: Sequence[HoldingShown]

    @property
    def count(self) -> int:
        return sum(len(each.things) for each in self.holdings)


@page
def start(request: HttpRequest, shown: Shown) -> HttpResponse:
    if shown.log is None or not shown.log.size:
        return render(request, "start/nothing.html", {"shown": shown, "section": "start"})
    now, personal = shown.now, may_see_people(request, shown)
    owed = list_outstanding(shown.log, now=now)
    found = find_findings(shown)
    alarming, waiting = ([each for each in found if each.waiting is waits] for waits in (False, True))
    election = get_current_election(shown.log)
    active = list_active_places(shown.log, election.code) if election else set()
    out = {each.site for each in owed if election is None or each.election == election.code}
    names = name_all(shown, [*alarming[:FINDINGS], *waiting[:WAITING], *owed], personal=personal)
    counts = {severity: sum(each.severity == severity for each in alarming) for severity in SEVERITIES}
    context = {
        "shown": shown,
        "section": "start",
        "now": now,
        "names": names,
        "election": election,
        "overdue_now": election is not None and now > election.return_deadline,
        "places": list_places(owed, names, personal=personal),
        "places_in": len(active - out),
        "places_out": len(out),
        "places_all": len(active | out),
        "outstanding_count": len(owed),
        "severities": [
            {"severity": each, "count": counts[each], "words": _severity_words(each, counts[each])}
            for each in SEVERITIES
        ],
        "findings": alarming[:FINDINGS],
        "more": max(len(alarming) - FINDINGS, 0),
        "waiting": waiting[:WAITING],
        "more_waiting": max(len(waiting) - WAITING, 0),
    }
    return render(request, "start/start.html", context)


def _severity_words(severity: str, count: int) -> str:
    match severity:
        case "critical":
            return ngettext("critical finding", "critical findings", count)
        case "warning":
            return ngettext("warning", "warnings", count)
        case _:
            return ngettext("notice", "notices", count)


def list_places(owed: Iterable[OutstandingItem], names: Names, *, personal: bool) -> list[PlaceShown]:
    """By place, and in it by who holds the things since when; the longest first."""
    found = []
    for site, of_place in groupby(sorted(owed, key=lambda each: each.site), key=lambda each: each.site):
        grouped: dict[Any, list[OutstandingItem]] = {}
        for each in of_place:
            grouped.setdefault((each.since, _key(each.holder), each.overdue), []).append(each)
        holdings = [
            HoldingShown(
                holder=things[0].holder,
                since=since,
                phone=(things[0].phone or "") if personal else "",
                overdue=overdue,
                things=sorted(things, key=lambda each: (each.kind, each.item)),
            )
            for (since, _, overdue), things in sorted(grouped.items())
        ]
        known = names.sites.get(site)
        found.append(PlaceShown(site=site, phone=known.phone if known else "", holdings=holdings))
    return found


def _key(holder: Holder | None) -> tuple[Any, ...]:
    return (holder.role, holder.people, holder.site or "") if holder else ("", (), "")
