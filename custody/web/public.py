"""The view for observers, and for everybody once the office has opened it: counts, places in, checkpoints."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from custody import clock
from custody.queries.public import get_public_view
from custody.queries.rights import is_public_view_open
from custody.queries.shown import Shown
from custody.services.open_public_view import open_public_view
from custody.services.sign_checkpoint import sign_checkpoint
from custody.web.access import page, shown_for
from custody.web.listing import SEVERITIES


@page
def show_public(request: HttpRequest, shown: Shown) -> HttpResponse:
    context = {"shown": shown, "section": "public", "now": shown.now, "is_open": is_public_view_open(shown)}
    if shown.log is not None and shown.log.size:
        sign_checkpoint(shown.log, now=clock.now())
        view = get_public_view(shown.log, now=shown.now)
        context |= {"view": view, "severities": [(each, view.findings.get(each, 0)) for each in SEVERITIES]}
    return render(request, "public/public.html", context)


@require_POST
def switch(request: HttpRequest) -> HttpResponse:
    """Open it to everybody, or shut it again."""
    open_public_view(shown_for(request).jurisdiction, is_open=request.POST.get("open") == "yes")
    return redirect("public")
