"""Findings: all of them, filtered; and one, with what it means, the policy behind it, what it rests on and how it was settled."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from custody.queries.asked import item_code, plain_code
from custody.queries.entry import get_entry, list_entries, list_named
from custody.queries.findings import EVERYTHING, Wanted, list_occurring
from custody.queries.names import SiteName, get_names
from custody.queries.rights import is_own_entry, is_own_finding
from custody.queries.rules import get_rule, policy_of_finding, rule_titles
from custody.queries.shown import Shown
from custody.web.access import may_see_people, own_only, page
from custody.web.facts import list_facts
from custody.web.listing import find_findings, name_all
from custody.web.policy_lines import list_policy
from custody.web.words import SEVERITIES, STATUSES

PER_PAGE = 50
SELECTS = ("severity", "rule", "site")
SETTLEMENT = ("outcome", "by", "reason")
TEXTS = {"item": item_code, "person": plain_code}


@page
def list_findings(request: HttpRequest, shown: Shown) -> HttpResponse:
    chosen = {name: request.GET.get(name, "").strip() for name in SELECTS}
    chosen |= {name: read(request.GET.get(name, "")) for name, read in TEXTS.items()}
    status = request.GET.get("status", "open")
    # What the form does not offer is not asked for: a list never says less than its form.
    chosen["severity"] = chosen["severity"] if chosen["severity"] in SEVERITIES else ""
    status = status if status in (*STATUSES, "waiting", "all") else "open"
    found = find_findings(shown, _wanted(chosen, status))
    if status == "waiting":
        found = [each for each in found if each.waiting]
    page_of = Paginator(found, PER_PAGE).get_page(request.GET.get("page"))
    query = {name: value for name, value in {**chosen, "status": status}.items() if value}
    context = {
        "shown": shown,
        "section": "findings",
        "page_itself": True,
        "now": shown.now,
        "names": name_all(shown, page_of.object_list, personal=may_see_people(request, shown)),
        "filters": _filters(shown, chosen, status),
        "chosen": chosen,
        "filtered": any(chosen.values()) or status != "open",
        "heading": ngettext("%(count)d finding", "%(count)d findings", len(found)) % {"count": len(found)},
        "findings": page_of.object_list,
        "number": page_of.number,
        "last": page_of.paginator.num_pages,
        "before": page_of.number - 1,
        "after": page_of.number + 1,
        "query": urlencode(query) + "&" if query else "",
    }
    return render(request, "findings/list.html", context)


def _wanted(chosen: dict[str, str], status: str) -> Wanted:
    statuses = {"all": EVERYTHING, "waiting": frozenset({"open"})}.get(status, frozenset({status}))
    return Wanted(**{name: value or None for name, value in chosen.items()}, statuses=statuses)


def _filters(shown: Shown, chosen: dict[str, str], status: str) -> list[dict[str, Any]]:
    occurring = list_occurring(shown.log) if shown.log else None
    titles = rule_titles()
    rules = {*(occurring.rules if occurring else ()), *filter(None, [chosen["rule"]])}
    codes = {*(occurring.sites if occurring else ()), *filter(None, [chosen["site"]])}
    known = get_names(shown.jurisdiction, sites=codes, personal=False).sites
    statuses = [("open", _("open")), ("waiting", _("open and waiting"))]
    statuses += [(name, str(words).lower()) for name, words in STATUSES.items() if name != "open"]
    any_of = [("", _("any"))]
    return [
        _select("severity", _("Severity"), chosen["severity"], any_of + [(k, str(v)) for k, v in SEVERITIES.items()]),
        _select("status", _("Status"), status, [*statuses, ("all", _("all"))]),
        _select("site", _("Place"), chosen["site"], any_of + sorted((_site(code, known) for code in codes), key=_text)),
        _select(
            "rule",
            _("Rule"),
            chosen["rule"],
            any_of + sorted(((rule, titles.get(rule, rule)) for rule in rules), key=_text),
        ),
    ]


def _select(name: str, label: str, chosen: str, choices: list[tuple[str, str]]) -> dict[str, Any]:
    return {"name": name, "label": label, "chosen": chosen, "choices": choices}


def _site(code: str, known: Mapping[str, SiteName]) -> tuple[str, str]:
    return code, f"{known[code].name} ({code})" if code in known else code


def _text(choice: tuple[str, str]) -> str:
    return choice[1]


@page
def show_finding(request: HttpRequest, shown: Shown, key: str) -> HttpResponse:
    finding = next(iter(find_findings(shown, Wanted(key=key, statuses=EVERYTHING))), None)
    if finding is None or shown.log is None:
        raise Http404(key)
    log = shown.log
    own_only(
        request,
        own=lambda standing: (
            is_own_finding(standing, finding.listed.finding)
            or any(is_own_entry(standing, *named) for named in list_named(log, finding.entries).values())
        ),
    )
    settled = finding.settled_by or finding.referred_by
    entries = {each.id: each for each in list_entries(shown.log, [*finding.entries, *filter(None, [settled])])}
    told = get_entry(shown.log, settled) if settled in entries and entries[settled].kind == "resolve" else None
    names = name_all(
        shown, [finding, *entries.values(), *filter(None, [told])], personal=may_see_people(request, shown)
    )
    policy = policy_of_finding(shown.log, finding.listed.finding)
    context = {
        "shown": shown,
        "section": "findings",
        "now": shown.now,
        "names": names,
        "finding": finding,
        "rule": get_rule(finding.rule),
        "policy": policy,
        "policy_rows": list_policy(policy),
        "entries": [entries[each] for each in finding.entries if each in entries],
        "settled_by": [entries[settled]] if settled in entries else [],
        "settlement": list_facts({name: told.members[name] for name in SETTLEMENT}) if told else [],
    }
    return render(request, "findings/finding.html", context)
