"""Who may read which page, and signing in by name and password."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from csp.constants import SELF, WASM_UNSAFE_EVAL
from csp.decorators import csp_update
from django.contrib.auth.views import LoginView, LogoutView, redirect_to_login
from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse
from django.utils.decorators import method_decorator
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_safe

from custody.queries import rights
from custody.queries.shown import Shown, get_shown
from custody.web.phone_words import phone_words
from custody.web.second_factor import SignInForm
from custody.web.work import frame_data

View = Callable[..., HttpResponse]


def may_see_people(request: HttpRequest, shown: Shown) -> bool:
    """Whether names and phone numbers of people are shown to whoever asks."""
    return rights.may_see_people(rights.visitor_of(request.user), shown)


def page(view: View) -> View:
    """A page that only reads. The view gets the log that is shown as its second argument."""

    @wraps(view)
    @never_cache
    @require_safe
    def guarded(request: HttpRequest, **arguments: Any) -> HttpResponse:
        # No code has one, and not every database can even be asked about it.
        if "\0" in request.path_info or any("\0" in value for value in request.GET.values()):
            raise BadRequest("A zero character in the address.")
        shown = get_shown()
        if not rights.may_read(rights.visitor_of(request.user), shown):
            return redirect_to_login(request.get_full_path())
        return view(request, shown, **arguments)

    return guarded


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

    def get_context_data(self, **more: Any) -> dict[str, Any]:
        return super().get_context_data(**more, words=phone_words())
