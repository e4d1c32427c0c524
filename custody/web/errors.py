"""Pages for what went wrong, in the look of all others."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from custody.errors import CustodyError
from custody.web.access import shown_for
from custody.web.context import rehearsal


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "errors/400.html", status=400)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "errors/403.html", status=403)


def unsafe_form(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form that came without its token: most often a page that was open for longer than a session."""
    return render(request, "errors/403.html", {"stale": True}, status=403)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """With menu and search: most often somebody misread a label, and looks again."""
    try:
        shown = shown_for(request)
    except CustodyError:  # a register of several jurisdictions, of which no page shows one
        shown = None
    return render(request, "errors/404.html", {"shown": shown}, status=404)


def server_error(request: HttpRequest) -> HttpResponse:
    """Without the request: what broke may be the session, the database, or anything else a page asks."""
    return render(None, "errors/500.html", rehearsal(None), status=500)
