"""Places, and one place's day: steps, counts by the hour as a picture and a table, the ballot account, what is still owed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from custody.queries.findings import Wanted
from custody.queries.names import get_names
from custody.queries.outstanding import list_outstanding
from custody.queries.place_day import CountRow, get_place_day
from custody.queries.places import find_election
from custody.queries.shown import Shown
from custody.queries.sites import list_sites
from custody.web.access import may_see_people, own_only, page
from custody.web.listing import Named, find_findings, name_all
from custody.web.tags import local_time, say_time

ACCOUNT = (
    "ballots_received",
    "ballots_unused",
    "ballots_spoiled",
    "ballots_provisional",
    "ballots_auxiliary",
    "ballots_cast",
    "voters_checked_in",
    "containers_sealed",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """Two lines over the day: `points` in a picture of 100 by 100 that is stretched; ticks in percent from the left."""

    description: str
    public: str
    checked_in: str
    most: int
    ticks: tuple[tuple[str, str], ...]


@page
def list_places(request: HttpRequest, shown: Shown) -> HttpResponse:
    owed: dict[str, int] = {}
    for each in list_outstanding(shown.log, now=shown.now) if shown.log else ():
        owed[each.site] = owed.get(each.site, 0) + 1
    rows = [(each, owed.get(each.code, 0)) for each in list_sites(shown.jurisdiction)]
    context = {"shown": shown, "section": "places", "now": shown.now, "rows": rows}
    return render(request, "places/list.html", context)


@page
def show_day(request: HttpRequest, shown: Shown, code: str) -> HttpResponse:
    known = get_names(shown.jurisdiction, sites=[code], personal=False).sites.get(code)
    if known is None:
        raise Http404(code)
    own_only(request, own=lambda standing: code in standing.places)
    election = find_election(shown)
    is_polling = known.kind == "polling_place"
    day = get_place_day(shown.log, election[0], code, now=shown.now) if shown.log and election and is_polling else None
    owed = list_outstanding(shown.log, now=shown.now, site=code) if shown.log else []
    found = find_findings(shown, shown.now, Wanted(site=code))
    context: dict[str, Any] = {
        "shown": shown,
        "section": "places",
        "now": shown.now,
        "place": known,
        "election": election[1] if election else "",
        "day": day,
        "plot": draw_plot(day.counts, shown.timezone) if day else None,
        "account": [(name, day.account.figures[name]) for name in ACCOUNT if name in day.account.figures]
        if day
        else [],
        "owed": owed,
        "findings": found,
        "names": name_all(shown, [Named(site=code), *owed, *found], personal=may_see_people(request, shown)),
    }
    return render(request, "places/day.html", context)


def draw_plot(counts: tuple[CountRow, ...], timezone: str) -> Plot | None:
    """Public counter against check-ins; nothing with fewer than two counts."""
    if len(counts) < 2:
        return None
    start, end = counts[0].at, counts[-1].at
    most = max([1, *(each.public or 0 for each in counts), *(each.checked_in or 0 for each in counts)])

    def x(at: int) -> float:
        return 100 * (at - start) / max(1, end - start)

    def line(name: str) -> str:
        told = [(each.at, getattr(each, name)) for each in counts]
        return " ".join(f"{x(at):.2f},{100 - 100 * value / most:.2f}" for at, value in told if value is not None)

    last = counts[-1]
    words = {
        "from": say_time(start, timezone),
        "until": say_time(end, timezone),
        "public": last.public if last.public is not None else _("not told"),
        "checked_in": last.checked_in if last.checked_in is not None else _("not told"),
    }
    hours = range(start - start % 3600 + 3600, end + 1, 3600)
    every = max(1, len(hours) // 5)
    return Plot(
        description=_("From %(from)s until %(until)s. At the end: public counter %(public)s, check-ins %(checked_in)s.")
        % words,
        public=line("public"),
        checked_in=line("checked_in"),
        most=most,
        ticks=tuple((f"{x(hour):.2f}", date_format(local_time(hour, timezone), "H:i")) for hour in hours[::every]),
    )
