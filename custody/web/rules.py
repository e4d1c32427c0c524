"""The rules: what each checks, why, on whose authority, and what it reads of policy."""

from __future__ import annotations

from collections import Counter

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from custody.queries.findings import Wanted
from custody.queries.rules import get_rule, list_rules, policy_of_rule
from custody.queries.shown import Shown
from custody.web.access import may_see_people, page
from custody.web.listing import find_findings, name_all
from custody.web.policy_lines import list_policy

MOST = 25


@page
def show_rules(request: HttpRequest, shown: Shown) -> HttpResponse:
    counts = Counter(each.rule for each in find_findings(shown))
    families = [(title, [(rule, counts[rule.code]) for rule in rules]) for title, rules in list_rules()]
    context = {"shown": shown, "section": "rules", "now": shown.now, "families": families}
    return render(request, "rules/list.html", context)


@page
def show_rule(request: HttpRequest, shown: Shown, code: str) -> HttpResponse:
    rule = get_rule(code)
    if rule is None:
        raise Http404(code)
    found = find_findings(shown, Wanted(rule=code))
    policy = policy_of_rule(shown.jurisdiction, code, shown.now) if shown.jurisdiction else None
    context = {
        "shown": shown,
        "section": "rules",
        "now": shown.now,
        "rule": rule,
        "findings": found[:MOST],
        "count": len(found),
        "names": name_all(shown, found[:MOST], personal=may_see_people(request, shown)),
        "policy": policy,
        "policy_rows": list_policy(policy),
    }
    return render(request, "rules/rule.html", context)
