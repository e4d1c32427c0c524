"""The door of every page, by the table of rights; and signing in by name and password."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import wraps
from typing import Any

from csp.constants import SELF, WASM_UNSAFE_EVAL
from csp.decorators import csp_update
from django.contrib.auth.views import LoginView, LogoutView, redirect_to_login
from django.core.exceptions import BadRequest, PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.utils.decorators import method_decorator
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_safe

from custody.queries import rights
from custody.queries.asked import is_badge, plain_text
from custody.queries.entry import list_named
from custody.queries.rights import Right, Standing
from custody.queries.shown import Shown, get_shown
from custody.web.listing import FindingRow
from custody.web.second_factor import SignInForm
from custody.web.work import frame_data

View = Callable[..., HttpResponse]
_SHOWN, _STANDING = "custody_shown", "custody_standing"


def may_see_people(request: HttpRequest, shown: Shown) -> bool:
    """Whether names and phone numbers of people are shown to whoever asks."""
    return rights.may_see_people(standing_for(request), shown)


class Door:
    """Middleware: lets through whom the table of rights gives an address, before any view is called.

    The API has a door of its own, since a token is looked at there.
    """

    def __init__(self, get_response: View) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: View, arguments: Any, named_arguments: Any
    ) -> HttpResponseBase | None:
        assert request.resolver_match is not None
        address = request.resolver_match.view_name
        area = rights.area_of(address)
        if address.startswith("api:") or (area is not None and area.is_for_everybody):
            return None
        standing = standing_for(request)
        if standing.right(area) is not Right.NO:
            return None
        if address == "start" and standing.visitor.known:
            return redirect("work" if standing.right(rights.AREAS["pocket"]) is not Right.NO else "public")
        if address == "start" and standing.opened:
            return redirect("public")
        if standing.visitor.known:
            raise PermissionDenied
        return redirect_to_login(request.get_full_path())


def shown_for(request: HttpRequest) -> Shown:
    """The log that is shown; looked up once a request."""
    known: Shown | None = getattr(request, _SHOWN, None)
    if known is None:
        known = get_shown()
        setattr(request, _SHOWN, known)
    return known


def standing_for(request: HttpRequest) -> Standing:
    """What whoever asks is towards the log that is shown; worked out once a request."""
    known: Standing | None = getattr(request, _STANDING, None)
    if known is None:
        known = rights.standing_of(rights.visitor_of(request.user), shown_for(request))
        setattr(request, _STANDING, known)
    return known


def own_only(request: HttpRequest, *, own: Callable[[Standing], bool]) -> None:
    """Refuse whoever has the right for their own alone, where this is not. Raises `PermissionDenied`."""
    assert request.resolver_match is not None
    standing = standing_for(request)
    right = standing.right(rights.area_of(request.resolver_match.view_name))
    if right is Right.NO or (right is Right.OWN and not own(standing)):
        raise PermissionDenied


def findings_seen(request: HttpRequest, found: Iterable[FindingRow]) -> list[FindingRow]:
    """Those of findings that whoever asks may open."""
    standing = standing_for(request)
    right = standing.right(rights.area_of("finding"))
    if right is Right.OWN:
        return [each for each in found if rights.is_own_finding(standing, each.listed.finding)]
    return list(found) if right is Right.YES else []


def entries_seen(request: HttpRequest, shown: Shown, ids: Iterable[str]) -> frozenset[str]:
    """Those of entries that whoever asks may open."""
    standing = standing_for(request)
    right = standing.right(rights.area_of("entry"))
    if right is Right.OWN and shown.log is not None:
        named = list_named(shown.log, ids)
        return frozenset(
            each for each, (people, sites) in named.items() if rights.is_own_entry(standing, people, sites)
        )
    return frozenset(ids) if right is Right.YES else frozenset()


def page(view: View) -> View:
    """A page that only reads. The view gets the log that is shown as its second argument."""

    @wraps(view)
    @never_cache
    @require_safe
    def guarded(request: HttpRequest, **arguments: Any) -> HttpResponse:
        # No code has one, and not every database can even be asked about it.
        if "\0" in request.path_info or any("\0" in value for value in request.GET.values()):
            raise BadRequest("A zero character in the address.")
        if any(is_badge(str(value)) for value in request.GET.values()):
            return redirect(without_secrets(request))
        return view(request, shown_for(request), **arguments)

    return guarded


def without_secrets(request: HttpRequest) -> str:
    """The address that was asked for, in which a badge that was scanned into a field is whose it is, and no more."""
    query = request.GET.copy()
    for name, values in request.GET.lists():
        query.setlist(name, [plain_text(value) if is_badge(value) else value for value in values])
    return f"{request.path}?{query.urlencode()}"


@method_decorator(csp_update({"script-src": [WASM_UNSAFE_EVAL], "media-src": [SELF, "blob:"]}), name="dispatch")
@method_decorator(ensure_csrf_cookie, name="dispatch")
class SignIn(LoginView):
    """By badge, which scripts do with `badge_sign_in.py`, or by name and password."""

    template_name = "access/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def get_context_data(self, **more: Any) -> dict[str, Any]:
        return super().get_context_data(**more, **frame_data())


class SignOut(LogoutView):
    """The session ends here; what the device knew, its own script takes off it."""

    template_name = "access/signed_out.html"
