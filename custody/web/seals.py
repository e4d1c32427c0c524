"""A seal's life: its lot, where it was issued, where it went on, who read it, when it came off."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _

from custody.queries.findings import EVERYTHING, Wanted
from custody.queries.names import Names, get_names
from custody.queries.seals import get_seal_history
from custody.queries.shown import Shown
from custody.web.access import may_see_people, page
from custody.web.listing import find_findings, name_all

WHAT = {
    "handed_over": _("handed over loose"),
    "applied": _("put on"),
    "read": _("read"),
    "replaced": _("another was put on in its place"),
    "removed": _("taken off"),
    "void": _("reported void"),
}


@page
def show_seal(request: HttpRequest, shown: Shown, number: str) -> HttpResponse:
    history = get_seal_history(shown.log, number, now=shown.now) if shown.log else None
    known = history is not None and bool(history.lots or history.events)
    found = find_findings(shown, shown.now, Wanted(seal=number, statuses=EVERYTHING)) if known else []
    events = history.events if history else ()
    lots = [(lot, lot.issued_to or None) for lot in history.lots] if history else []
    issued = get_names(shown.jurisdiction, sites=[site for _lot, site in lots], personal=False)
    names = name_all(shown, [*events, *found], personal=may_see_people(request, shown))
    context = {
        "shown": shown,
        "section": "seals",
        "now": shown.now,
        "number": number,
        "known": known,
        "lots": lots,
        "events": [(WHAT[each.what], each) for each in events],
        "in_place": history.in_place if history else (),
        "findings": found,
        "names": Names(sites={**issued.sites, **names.sites}, people=names.people, items=names.items),
    }
    return render(request, "seals/seal.html", context, status=200 if known else 404)
