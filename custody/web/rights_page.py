"""Who may see and do what: the table of rights, in words."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from custody.queries.rights import AREAS, Audience, Right
from custody.web.access import shown_for, standing_for

AUDIENCES = {
    Audience.PUBLIC: _("Everybody"),
    Audience.OBSERVER: _("Observers"),
    Audience.CREW: _("Poll chiefs, poll workers, technicians"),
    Audience.COURIER: _("Couriers"),
    Audience.DESK: _("Receiving desk, warehouse, vault"),
    Audience.AUDITOR: _("Auditors, officials"),
    Audience.OFFICE: _("Office staff"),
    Audience.PROGRAM: _("Programs with a token for reading"),
}
RIGHTS = {Right.NO: _("no"), Right.OPENED: _("once opened"), Right.OWN: _("their own"), Right.YES: _("yes")}
WORDS = {
    "doors": _("Sign in and out; this page; the description of the interface for programs"),
    "work": _("The pages for work at a place (without what is on record)"),
    "record": _("Bring signed entries: the signatures count, whoever brings them"),
    "scan": _("Have a photo of a label read"),
    "pocket": _("What a phone needs to work at a place"),
    "public": _("The public view: counts, places in, checkpoints"),
    "single": _("The page of one place, item, entry or finding"),
    "whole": _("The whole record: what is not back, findings, custody, seals, search"),
    "names": _("Names and phone numbers of people; others read their codes"),
    "programs": _("The record as programs read it"),
    "office": _("People and badges, the register, what the office sets"),
}


@require_safe
def show_rights(request: HttpRequest) -> HttpResponse:
    rows = [
        {"what": WORDS[name], "rights": [(AUDIENCES[each], RIGHTS[area.right(each)]) for each in Audience]}
        for name, area in AREAS.items()
    ]
    context = {
        "shown": shown_for(request),
        "section": "rights",
        "audiences": AUDIENCES.values(),
        "rows": rows,
        "no": RIGHTS[Right.NO],
        "own": [AUDIENCES[each] for each in Audience if each in standing_for(request).audiences],
    }
    return render(request, "access/rights.html", context)
