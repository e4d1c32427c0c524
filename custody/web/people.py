"""People and their badges, for the office: who has one, making one, calling one in. Badges are made in the browser."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import wraps
from http import HTTPStatus
from typing import Any

from csp.constants import WASM_UNSAFE_EVAL
from csp.decorators import csp_update
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.templatetags.static import static
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from custody import clock
from custody.errors import CustodyError
from custody.queries.people import get_person, is_locked_out, list_people
from custody.queries.shown import Shown
from custody.services.enrol_key import enrol_key
from custody.services.revoke_keys import revoke_keys
from custody.services.sign_in import lift_badge_lock
from custody.web.access import shown_for
from custody.web.tags import FIELD_TIME, local_time, read_local_time
from custody.web.work import frame_data

View = Callable[..., HttpResponse]
MOST_BYTES = 4_096
EARLIEST = 0
"""Unix seconds. A year of two digits, as a hurried hand leaves it in the field, is the first century: no badge is so old."""
WRITER = {"writer": "vendor/zxing/writer/index.js", "writerWasm": "vendor/zxing/writer.wasm"}


def office(view: View) -> View:
    """A page of the office's own, which the table of rights keeps for its staff, also in a rehearsal. No cache holds it."""

    @wraps(view)
    @never_cache
    def guarded(request: HttpRequest, **arguments: Any) -> HttpResponse:
        return view(request, shown_for(request), **arguments)

    return guarded


@office
@require_safe
def show_people(request: HttpRequest, shown: Shown) -> HttpResponse:
    asked, after = request.GET.get("q", "").strip(), request.GET.get("after", "")
    people, more = list_people(shown, asked=asked.replace("\0", ""), after=after.replace("\0", ""), now=clock.now())
    context = {"shown": shown, "section": "people", "people": people, "asked_person": asked, "more": more}
    return render(request, "people/list.html", context)


@csp_update({"script-src": [WASM_UNSAFE_EVAL]})
@office
@require_safe
def show_person(request: HttpRequest, shown: Shown, code: str) -> HttpResponse:
    return render(request, "people/person.html", _about(shown, code))


@office
@require_POST
def enrol(request: HttpRequest, shown: Shown, code: str) -> HttpResponse:
    """`{"public_key": base64}`: the one half of a badge that leaves the browser."""
    try:
        public_key = json.loads(request.read(MOST_BYTES))["public_key"]
        if not isinstance(public_key, str):
            raise TypeError(public_key)
    except (ValueError, KeyError, TypeError, RecursionError):
        return JsonResponse({"detail": "There is no public key."}, status=HTTPStatus.BAD_REQUEST)
    try:
        enrol_key(shown.jurisdiction, code, public_key, user=_user(request), now=clock.now())
    except CustodyError as error:
        return JsonResponse({"code": error.code, "detail": error.detail}, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    return JsonResponse({"person": code}, status=HTTPStatus.CREATED)


@csp_update({"script-src": [WASM_UNSAFE_EVAL]})
@office
@require_POST
def revoke(request: HttpRequest, shown: Shown, code: str) -> HttpResponse:
    """The badge is lost, or not to be used any more: from now on, or from an earlier time, local to the jurisdiction."""
    now = clock.now()
    typed = request.POST.get("since", "")
    since = read_local_time(typed, shown.timezone) if typed else now
    if since is None or not EARLIEST <= since <= now:
        context = {**_about(shown, code), "bad_date": True, "since": typed}
        return render(request, "people/person.html", context, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        revoke_keys(shown.jurisdiction, code, since=since, user=_user(request), now=now)
    except CustodyError as error:
        raise Http404(code) from error
    return redirect("person", code=code)


@office
@require_POST
def lift(request: HttpRequest, shown: Shown, code: str) -> HttpResponse:
    """Let somebody try PINs again."""
    lift_badge_lock(shown.jurisdiction, code)
    return redirect("person", code=code)


def _about(shown: Shown, code: str) -> dict[str, Any]:
    """What the page of a person shows."""
    now = clock.now()
    person = get_person(shown, code, now=now)
    if person is None:
        raise Http404(code)
    data = frame_data()
    data["files"] |= {name: static(path) for name, path in WRITER.items()}
    return {
        **data,
        "shown": shown,
        "section": "people",
        "person": person,
        "locked": is_locked_out(shown, code),
        "local_now": local_time(now, shown.timezone).strftime(FIELD_TIME),
    }


def _user(request: HttpRequest) -> str:
    """Who changed the register, as its log has it: an opaque id."""
    return f"user-{request.user.pk}"
