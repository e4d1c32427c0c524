"""Search: one box over everything on record and on the register; what is meant without doubt is gone to at once."""

from __future__ import annotations

from urllib.parse import quote

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from custody.queries.rights import AREAS, Right
from custody.queries.search import Hit, Sort, search
from custody.queries.shown import Shown
from custody.web import words
from custody.web.access import may_see_people, page, standing_for
from custody.web.tags import finding_url

HEADINGS: dict[Sort, object] = {
    "item": _("Items"),
    "seal": _("Seals"),
    "person": _("People"),
    "place": _("Places"),
    "entry": _("Entries"),
    "finding": _("Findings"),
    "rule": _("Rules"),
}


@page
def show_search(request: HttpRequest, shown: Shown) -> HttpResponse:
    asked = request.GET.get("q", "").strip()
    found = search(shown, asked, personal=may_see_people(request, shown)) if shown.jurisdiction else []
    office = standing_for(request).right(AREAS["office"]) is not Right.NO
    exact = [each for each in found if each.exact]
    if len(exact) == 1 or (not exact and len(found) == 1):
        return redirect(_address(exact[0] if exact else found[0], office=office))
    groups = [
        (heading, [(each, _address(each, office=office), _words(each)) for each in found if each.sort == sort])
        for sort, heading in HEADINGS.items()
    ]
    context = {
        "shown": shown,
        "section": "search",
        "now": shown.now,
        "asked": asked,
        "groups": [(heading, hits) for heading, hits in groups if hits],
    }
    return render(request, "search/search.html", context)


def _address(hit: Hit, *, office: bool) -> str:
    match hit.sort:
        case "item":
            return reverse("item", args=[hit.code])
        case "seal":
            return reverse("seal", args=[hit.code])
        case "entry":
            return reverse("entry", args=[hit.code])
        case "place":
            return reverse("place-day", args=[hit.code])
        case "finding":
            return finding_url(hit.code)
        case "rule":
            return reverse("rule", args=[hit.code])
        case "person":
            # Whoever may not see the page of a person sees what that person holds.
            return reverse("person", args=[hit.code]) if office else f"{reverse('moment')}?person={quote(hit.code)}"


def _words(hit: Hit) -> str:
    return str(words.ENTRIES.get(hit.words, hit.words)) if hit.sort == "entry" else words.word(hit.words)
