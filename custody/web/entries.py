"""One entry: what it says, who signed it, where it stands in the log."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from custody.queries.entry import get_entry
from custody.queries.findings import EVERYTHING, Wanted
from custody.queries.shown import Shown
from custody.web.access import may_see_people, page
from custody.web.facts import heading, list_facts
from custody.web.listing import find_findings, name_all


@page
def show_entry(request: HttpRequest, shown: Shown, entry_id: str) -> HttpResponse:
    entry = get_entry(shown.log, entry_id) if shown.log else None
    if entry is None or shown.log is None:
        raise Http404(entry_id)
    found = find_findings(shown, shown.now, Wanted(entry=entry.id, statuses=EVERYTHING))
    names = name_all(shown, [entry, *found], personal=may_see_people(request, shown))
    context = {
        "shown": shown,
        "section": "entries",
        "now": shown.now,
        "names": names,
        "entry": entry,
        "heading": heading(entry.kind, entry.members),
        "facts": list_facts(entry.members),
        "findings": found,
    }
    return render(request, "entries/entry.html", context)
