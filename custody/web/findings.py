"""Findings: all of them, filtered; and one, with the entries that it rests on and how it was settled."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from custody.queries.entry import list_entries
from custody.queries.names import Names
from custody.queries.shown import Shown
from custody.web.access import may_see_people, page
from custody.web.listing import FindingRow, find_findings, name_all
from custody.web.words import SEVERITIES

PER_PAGE = 50
STATUSES = ("open", "waiting", "resolved", "cleared", "withdrawn", "all")


@page
def list_findings(request: HttpRequest, shown: Shown) -> HttpResponse:
    chosen = {name: request.GET.get(name, "") for name in ("severity", "rule", "site")}
    named = {name: request.GET.get(name, "").strip() for name in ("person", "item")}
    status = request.GET.get("status", "open")
    everything = find_findings(shown, shown.now, everything=status not in ("open", "waiting"))
    found = [
        each
        for each in everything
        if _has_status(each, status)
        and all(getattr(each, name) == value for name, value in chosen.items() if value)
        and named["person"] in ("", *each.people)
        and named["item"].upper() in ("", *each.items)
    ]
    page_of = Paginator(found, PER_PAGE).get_page(request.GET.get("page"))
    names = name_all(shown, everything, personal=may_see_people(request, shown))
    query = {name: value for name, value in {**chosen, **named, "status": status}.items() if value}
    context = {
        "shown": shown,
        "section": "findings",
        "page_itself": True,
        "now": shown.now,
        "names": names,
        "filters": _filters(everything, names, chosen, status),
        "named": [("person", _("Person (code)"), named["person"]), ("item", _("Item (code)"), named["item"])],
        "filtered": any(chosen.values()) or any(named.values()) or status != "open",
        "heading": ngettext("%(count)d finding", "%(count)d findings", len(found)) % {"count": len(found)},
        "findings": page_of.object_list,
        "number": page_of.number,
        "last": page_of.paginator.num_pages,
        "before": page_of.number - 1,
        "after": page_of.number + 1,
        "query": urlencode(query) + "&" if query else "",
    }
    return render(request, "findings/list.html", context)


def _has_status(finding: FindingRow, status: str) -> bool:
    match status:
        case "all":
            return True
        case "waiting":
            return finding.waiting
        case _:
            return finding.status == status


def _filters(everything: list[FindingRow], names: Names, chosen: dict[str, str], status: str) -> list[dict[str, Any]]:
    rules = sorted({each.rule for each in everything} | ({chosen["rule"]} - {""}))
    codes = sorted({each.site for each in everything if each.site} | ({chosen["site"]} - {""}))
    sites = sorted(
        ((code, names.sites[code].name if code in names.sites else code) for code in codes), key=lambda x: x[1]
    )
    of_status = [_("open"), _("open and waiting"), _("resolved"), _("cleared"), _("withdrawn"), _("all")]
    return [
        {
            "name": "severity",
            "label": _("Severity"),
            "chosen": chosen["severity"],
            "choices": [("", _("any")), *SEVERITIES.items()],
        },
        {
            "name": "status",
            "label": _("Status"),
            "chosen": status,
            "choices": list(zip(STATUSES, of_status, strict=True)),
        },
        {
            "name": "site",
            "label": _("Place"),
            "chosen": chosen["site"],
            "choices": [("", _("any")), *((code, f"{name} ({code})") for code, name in sites)],
        },
        {
            "name": "rule",
            "label": _("Rule"),
            "chosen": chosen["rule"],
            "choices": [("", _("any")), *((rule, rule) for rule in rules)],
        },
    ]


@page
def show_finding(request: HttpRequest, shown: Shown, key: str) -> HttpResponse:
    finding = next((each for each in find_findings(shown, shown.now, everything=True) if each.key == key), None)
    if finding is None or shown.log is None:
        raise Http404(key)
    settled = finding.settled_by or finding.referred_by
    entries = {each.id: each for each in list_entries(shown.log, [*finding.entries, *filter(None, [settled])])}
    names = name_all(shown, [finding, *entries.values()], personal=may_see_people(request, shown))
    context = {
        "shown": shown,
        "section": "findings",
        "now": shown.now,
        "names": names,
        "finding": finding,
        "entries": [entries[each] for each in finding.entries if each in entries],
        "settled_by": [entries[settled]] if settled in entries else [],
    }
    return render(request, "findings/finding.html", context)
