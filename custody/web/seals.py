"""A seal's life: its lot, where it was handed over, put on, read and taken off."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from custody.queries.findings import EVERYTHING, Wanted
from custody.queries.seals import get_seal_history
from custody.queries.shown import Shown
from custody.web.access import may_see_people, page
from custody.web.listing import find_findings, name_all
from custody.web.seal_band import ENDS, draw_seal, say_event


@dataclass(frozen=True, slots=True, kw_only=True)
class Mentioned:
    """Codes whose names a page needs beyond what its rows mention."""

    items: tuple[str, ...] = ()
    sites: tuple[str, ...] = ()
    people: tuple[str, ...] = ()


@page
def show_seal(request: HttpRequest, shown: Shown, number: str) -> HttpResponse:
    number = number.strip()
    history = get_seal_history(shown.log, number, now=shown.now) if shown.log else None
    if history is None or not (history.lots or history.events):
        context = {"shown": shown, "section": "seals", "now": shown.now, "number": number}
        return render(request, "seals/unknown.html", context, status=404)
    found = find_findings(shown, Wanted(seal=number, statuses=EVERYTHING))
    lots = Mentioned(
        sites=tuple(lot.issued_to for lot in history.lots if lot.issued_to),
        items=tuple(item for item, _ in history.in_place),
        people=tuple(code for each in history.events if each.by for code in each.by.people),
    )
    makers = sorted({lot.maker for lot in history.lots})
    context = {
        "shown": shown,
        "section": "seals",
        "now": shown.now,
        "names": name_all(shown, [lots, *history.events, *found], personal=may_see_people(request, shown)),
        "number": number,
        "history": history,
        "makers": makers,
        "events": [(each, say_event(each)) for each in history.events],
        "is_void": any(each.what == "void" for each in history.events),
        "last_off": next((each for each in reversed(history.events) if each.what in ENDS), None),
        "last_on": next((each for each in reversed(history.events) if each.item is not None), None),
        "findings": found,
        "picture": draw_seal(history, now=shown.now, timezone=shown.timezone),
    }
    return render(request, "seals/seal.html", context)
