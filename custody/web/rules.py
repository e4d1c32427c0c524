"""The rules, and a page for each: what it checks, why, by which source, and what it has found."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _

from custody.queries.rules import get_rule, list_rules
from custody.queries.shown import Shown
from custody.web.access import may_see_people, page
from custody.web.listing import find_findings, name_all

SCOPES = {
    "entry": _("at every entry, with what stood before and after it"),
    "journey": _("over a journey, from the first handoff until all has arrived"),
    "place": _("over a polling place’s day"),
    "item": _("at how an item stands in the end"),
    "stock": _("over the seals that a place was issued"),
}
MOST = 25


@page
def list_all(request: HttpRequest, shown: Shown) -> HttpResponse:
    return render(request, "rules/list.html", {"shown": shown, "section": "rules", "rules": list_rules()})


@page
def show_rule(request: HttpRequest, shown: Shown, code: str) -> HttpResponse:
    rule = get_rule(code)
    if rule is None:
        raise Http404(code)
    found = find_findings(shown, shown.now, rule=code)
    context = {
        "shown": shown,
        "section": "rules",
        "now": shown.now,
        "rule": rule,
        "looked_at": [SCOPES[each] for each in rule.scopes],
        "findings": found[:MOST],
        "count": len(found),
        "names": name_all(shown, found[:MOST], personal=may_see_people(request, shown)),
    }
    return render(request, "rules/rule.html", context)
