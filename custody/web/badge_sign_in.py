"""Signing in by badge, and who is signed in, for the scripts of the pages. JSON in, JSON out."""

from __future__ import annotations

import json
from http import HTTPStatus
from typing import Any

from django.contrib.auth import login
from django.http import HttpRequest, JsonResponse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from custody import clock
from custody.errors import CustodyError
from custody.queries.rights import is_open, user_name, visitor_of
from custody.queries.shown import get_shown
from custody.queries.workplaces import list_workplaces
from custody.services.sign_in import is_badge_locked, make_challenge, open_answer, sign_in_by_badge
from custody.web.badge_backend import PATH, user_for

MOST_BYTES = 4_096


@require_POST
def challenge(request: HttpRequest) -> JsonResponse:
    """`{"person": code}` → the payload to be signed."""
    try:
        person = json.loads(request.read(MOST_BYTES))["person"]
    except (ValueError, KeyError, TypeError, RecursionError):
        person = None
    if not isinstance(person, str) or not 0 < len(person) <= 64 or not (person.isascii() and person.isprintable()):
        return _problem(HTTPStatus.BAD_REQUEST, "bad-request", _("The badge names nobody."))
    jurisdiction = get_shown().jurisdiction
    if is_badge_locked(jurisdiction, person):
        return _locked()
    return JsonResponse(make_challenge(jurisdiction, person, origin=_origin(request), now=clock.now()))


@require_POST
def answer(request: HttpRequest) -> JsonResponse:
    """The signed payload → a session; `{"next": address}` says where to go on."""
    try:
        given = open_answer(
            request.read(MOST_BYTES), get_shown().jurisdiction, origin=_origin(request), now=clock.now()
        )
        sign_in_by_badge(given, now=clock.now())
    except CustodyError as error:
        return _not_signed_in(error.code)
    user = user_for(user_name(given.jurisdiction, given.person))
    if user is None:
        return _wrong()
    login(request, user, backend=PATH)
    asked = request.GET.get("next", "")
    safe = url_has_allowed_host_and_scheme(asked, {request.get_host()}, require_https=request.is_secure())
    return JsonResponse({"next": asked if safe else "/work/"})


@require_safe
@never_cache
def who(request: HttpRequest) -> JsonResponse:
    """Who is signed in, and the places where they may work: those they are assigned to, or all."""
    shown, visitor = get_shown(), visitor_of(request.user)
    if not visitor.known and not is_open(shown):
        return _problem(HTTPStatus.UNAUTHORIZED, "not-authenticated", _("Sign in first."))
    sites = list_workplaces(shown, None if visitor.staff or not visitor.person else visitor.person)
    return JsonResponse({"person": visitor.person, "staff": visitor.staff, "sites": sites})


def _origin(request: HttpRequest) -> str:
    return f"{request.scheme}://{request.get_host()}"


def _not_signed_in(code: str) -> JsonResponse:
    match code:
        case "badge-locked":
            return _locked()
        case "not-signed-in":
            return _wrong()
        case _:
            return _problem(HTTPStatus.BAD_REQUEST, code, _("This took too long, or was sent before. Try once more."))


def _wrong() -> JsonResponse:
    detail = _("Badge and PIN do not go together, or the badge is not valid any more.")
    return _problem(HTTPStatus.FORBIDDEN, "not-signed-in", detail)


def _locked() -> JsonResponse:
    detail = _(
        "There were too many wrong PINs: signing in with this badge is switched off. The office can lift that, or make a new"
        " badge. Handing over still works, if this place is on the phone already."
    )
    return _problem(HTTPStatus.TOO_MANY_REQUESTS, "locked", detail)


def _problem(status: int, code: str, detail: str) -> JsonResponse:
    document: dict[str, Any] = {
        "title": HTTPStatus(status).phrase,
        "status": int(status),
        "code": code,
        "detail": detail,
    }
    return JsonResponse(document, status=status, content_type="application/problem+json")
