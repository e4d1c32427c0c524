"""One entry: what it says, its photos, who signed it, where it stands in the log."""

from __future__ import annotations

import logging

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from custody.errors import CustodyError
from custody.queries.entry import get_entry
from custody.queries.findings import EVERYTHING, Wanted
from custody.queries.photos import get_photo, list_photos
from custody.queries.rights import is_own_entry
from custody.queries.shown import Shown
from custody.web.access import may_see_people, own_only, page
from custody.web.facts import heading, list_facts
from custody.web.listing import find_findings, name_all

logger = logging.getLogger(__name__)


@page
def show_entry(request: HttpRequest, shown: Shown, entry_id: str) -> HttpResponse:
    entry = get_entry(shown.log, entry_id) if shown.log else None
    if entry is None or shown.log is None:
        raise Http404(entry_id)
    people, sites = entry.people, entry.sites
    own_only(request, own=lambda standing: is_own_entry(standing, people, sites))
    found = find_findings(shown, Wanted(entry=entry.id, statuses=EVERYTHING))
    names = name_all(shown, [entry, *found], personal=may_see_people(request, shown))
    context = {
        "shown": shown,
        "section": "entries",
        "now": shown.now,
        "names": names,
        "entry": entry,
        "heading": heading(entry.kind, entry.members),
        "facts": list_facts(entry.members),
        "photos": list_photos(entry.members.get("photos", ())),
        "findings": found,
    }
    return render(request, "entries/entry.html", context)


@page
def show_photo(request: HttpRequest, shown: Shown, entry_id: str, sha256: str, small: bool = False) -> HttpResponse:  # noqa: FBT001, FBT002
    """A photo by the entry that names it: whoever may read that may see this."""
    entry = get_entry(shown.log, entry_id) if shown.log else None
    if entry is None:
        raise Http404(entry_id)
    own_only(request, own=lambda standing: is_own_entry(standing, entry.people, entry.sites))
    try:
        photo = get_photo(entry, sha256, small=small)
    except CustodyError as error:
        logger.error("photo %s: %s", sha256, error.detail)
        raise Http404(sha256) from None
    if photo is None:
        raise Http404(sha256)
    return HttpResponse(photo.data, content_type=photo.media, headers={"X-Content-Type-Options": "nosniff"})
