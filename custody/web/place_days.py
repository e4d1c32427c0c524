"""A place's day on one page, and the list of places."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from custody.domain.vocabulary import SiteKind
from custody.queries.findings import EVERYTHING, Wanted
from custody.queries.names import Names
from custody.queries.outstanding import OutstandingItem, list_outstanding
from custody.queries.place_day import DayShown, PlacedItem, get_place_day, list_held
from custody.queries.places import PlaceState, find_election, get_site, list_places
from custody.queries.shown import Shown
from custody.web.access import findings_seen, may_see_people, own_only, page
from custody.web.listing import SEVERITIES, FindingRow, find_findings, name_all
from custody.web.plot import draw_plot
from custody.web.start import list_places as group_by_place

PER_PAGE, GRID, FINDINGS = 100, 300, 50
"""Places on a page; things in the grid, and findings, of one place."""

STANDINGS: Mapping[str, Promise] = {
    "here": _("here"),
    "way": _("on the way"),
    "elsewhere": _("elsewhere"),
    "nobody": _("held by nobody on record"),
}
PHASES: Mapping[str, Promise] = {
    "opening": _("Opening"),
    "day": _("During the day"),
    "closing": _("Closing"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A thing in the grid. `standing` is a word of `STANDINGS`, `where` the place that holds it when that is another."""

    item: str
    kind: str
    standing: str
    words: Promise
    where: str
    container: str | None
    is_owed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceRow:
    """A place in the list, with how many things are not back from it and its open findings by severity, but for those that
    wait for a phone."""

    place: PlaceState
    owed: int
    findings: tuple[int, ...]


@page
def show_places(request: HttpRequest, shown: Shown) -> HttpResponse:
    election = find_election(shown)
    code = election[0] if election else None
    owed = Counter(each.site for each in _outstanding(shown, code))
    found: Counter[tuple[str, str]] = Counter()
    for finding in find_findings(shown):
        if not finding.waiting:
            found.update((place, finding.severity) for place in _places_of(finding))
    rows = [
        PlaceRow(
            place=place,
            owed=owed[place.site],
            findings=tuple(found[place.site, severity] for severity in SEVERITIES),
        )
        for place in list_places(shown.jurisdiction, shown.log, code)
    ]
    page_of = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "shown": shown,
        "section": "places",
        "page_itself": True,
        "now": shown.now,
        "election": election,
        "rows": page_of.object_list,
        "page_of": page_of,
    }
    return render(request, "places/list.html", context)


def _outstanding(shown: Shown, election: str | None, site: str | None = None) -> list[OutstandingItem]:
    return list_outstanding(shown.log, now=shown.now, election=election, site=site) if shown.log and election else []


def _places_of(finding: FindingRow) -> set[str]:
    """Where a finding arose, and the polling place that it is about."""
    return {place for place in (finding.site, finding.listed.finding.origin) if place}


@page
def show_place(request: HttpRequest, shown: Shown, code: str) -> HttpResponse:
    own_only(request, own=lambda standing: code in standing.places)
    place = get_site(shown.jurisdiction, code)
    if place is None and code != code.upper() and get_site(shown.jurisdiction, code.upper()) is not None:
        return redirect("place-day", code=code.upper())
    if place is None:
        context: dict[str, Any] = {"shown": shown, "section": "places", "now": shown.now, "code": code}
        return render(request, "places/unknown.html", context, status=404)
    personal = may_see_people(request, shown)
    election = find_election(shown)
    owed = _outstanding(shown, election[0] if election else None, code)
    day = _day(shown, election, place)
    items = day.items if day else list_held(shown.log, code, now=shown.now) if shown.log else ()
    found = findings_seen(request, find_findings(shown, Wanted(place=code, statuses=EVERYTHING)))
    current = [each for each in found if each.status == "open"]
    names = name_all(shown, [place, *items, *owed, *current[:FINDINGS]], personal=personal)
    cells = _cells(items, code, owed, names)
    context = {
        "shown": shown,
        "section": "places",
        "now": shown.now,
        "names": names,
        "place": place,
        "is_polling_place": place.kind == SiteKind.POLLING_PLACE,
        "election": election,
        "day": day,
        "phases": _phases(day),
        "plot": _plot(day, shown, code),
        "cells": cells[:GRID],
        "cells_more": max(0, len(cells) - GRID),
        "standings": STANDINGS,
        "kinds": _kinds(cells),
        "owed": group_by_place(owed, names, personal=personal),
        "outstanding_count": len(owed),
        "findings": current[:FINDINGS],
        "findings_more": max(0, len(current) - FINDINGS),
        "settled": sum(each.status != "open" and each.site == code for each in found),
    }
    return render(request, "places/place.html", context)


def _day(shown: Shown, election: tuple[str, str] | None, place: PlaceState) -> DayShown | None:
    if shown.log is None or election is None or place.kind != SiteKind.POLLING_PLACE:
        return None
    return get_place_day(shown.log, election[0], place.site, now=shown.now)


def _phases(day: DayShown | None) -> list[tuple[Promise, list[Any]]]:
    """The steps by part of the day; a part without any is left out."""
    steps = day.steps if day else ()
    listed = [(words, [each for each in steps if each.phase == phase]) for phase, words in PHASES.items()]
    return [(words, of_phase) for words, of_phase in listed if of_phase]


def _plot(day: DayShown | None, shown: Shown, code: str) -> Any:
    if day is None:
        return None
    title = gettext("Ballots and check-ins at %(place)s by the hour") % {"place": code}
    return draw_plot(day.counts, opened=day.opened[0], closed=day.closed[0], timezone=shown.timezone, title=title)


def _cells(items: Iterable[PlacedItem], site: str, owed: Iterable[OutstandingItem], names: Names) -> list[Cell]:
    """The things in the grid: what is not back first, then what is here, then by kind."""
    out = {each.item for each in owed}
    cells = []
    for each in items:
        standing = _standing(each)
        known = names.items.get(each.item)
        cells.append(
            Cell(
                item=each.item,
                kind=known.kind if known else "",
                standing=standing,
                words=STANDINGS[standing],
                where=each.holder.site or "" if each.holder and each.holder.site != site else "",
                container=each.container,
                is_owed=each.item in out,
            )
        )
    order = list(STANDINGS)
    return sorted(cells, key=lambda each: (not each.is_owed, order.index(each.standing), each.kind, each.item))


def _standing(item: PlacedItem) -> str:
    if item.holder is None:
        return "nobody"
    if item.here:
        return "here"
    return "elsewhere" if item.holder.site else "way"


def _kinds(cells: Sequence[Cell]) -> list[tuple[str, list[int], int]]:
    """By kind, how many stand how, and how many are not back: the same as the grid says, as figures."""
    counted = Counter((each.kind, each.standing) for each in cells)
    out = Counter(each.kind for each in cells if each.is_owed)
    kinds = sorted({each.kind for each in cells})
    return [(kind, [counted[kind, standing] for standing in STANDINGS], out[kind]) for kind in kinds]
