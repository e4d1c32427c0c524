"""The rules: what each checks, why, on whose authority, and what it reads of policy."""

from __future__ import annotations

from collections import Counter

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from custody.queries.findings import Wanted
from custody.queries.rules import get_rule, list_rules, policy_of_rule
from custody.queries.shown import Shown
from custody.web.access import page
from custody.web.listing import find_findings
from custody.web.policy_lines import list_policy


@page
def show_rules(request: HttpRequest, shown: Shown) -> HttpResponse:
    counts = Counter(each.rule for each in find_findings(shown, shown.now))
    families = [(title, [(rule, counts[rule.code]) for rule in rules]) for title, rules in list_rules()]
    context = {"shown": shown, "section": "findings", "now": shown.now, "families": families}
    return render(request, "rules/list.html", context)


@page
def show_rule(request: HttpRequest, shown: Shown, code: str) -> HttpResponse:
    rule = get_rule(code)
    if rule is None:
        raise Http404(code)
    policy = policy_of_rule(shown.jurisdiction, code, shown.now) if shown.jurisdiction else None
    context = {
        "shown": shown,
        "section": "findings",
        "now": shown.now,
        "rule": rule,
        "open_count": len(find_findings(shown, shown.now, Wanted(rule=code))),
        "policy": policy,
        "policy_rows": list_policy(policy),
    }
    return render(request, "rules/rule.html", context)
