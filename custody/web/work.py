"""The pages of the phone, under `/at-work/`: frames without personal data, the same for everybody.

A frame opens without signing in, so that a service worker may keep it and a phone without a network can start from it. What
a page shows comes from the phone itself: the pocket register it was given, the outbox, the act in hand.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from csp.constants import SELF, WASM_UNSAFE_EVAL
from csp.decorators import csp_update
from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.template.loader import get_template
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import cache_control
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from custody.web.phone_words import StrOrPromise, phone_words

ACTS: dict[str, StrOrPromise] = {
    "hand-over": _("Hand over"),
    "receive": _("Receive"),
    "return-desk": _("Return desk"),
    "apply-seals": _("Put seals on"),
    "read-seals": _("Read seals"),
    "remove-seals": _("Take seals off"),
    "pack": _("Pack"),
    "unpack": _("Unpack"),
    "count": _("Count"),
    "steps": _("Steps of opening and closing"),
    "incident": _("Report an incident"),
    "settle": _("Settle a finding"),
    "amend": _("Put an entry right"),
}
"""Each act that is done and signed at a place, with the title of its page."""

FILES: dict[str, str] = {"reader": "vendor/zxing/reader/index.js", "readerWasm": "vendor/zxing/reader.wasm"}
"""Files that scripts fetch by a name of theirs, and where they stand among the static files."""

View = Callable[..., HttpResponseBase]


def frame(view: View) -> View:
    """A page of the phone: to be kept, asked for anew where there is a network, and able to decode pictures.

    Compressed: nothing in it is secret or comes from the request, so that its length tells nothing.
    """
    decoding = csp_update({"script-src": [WASM_UNSAFE_EVAL], "media-src": [SELF, "blob:"]})
    return require_safe(gzip_page(cache_control(no_cache=True)(decoding(view))))


def list_frames() -> list[str]:
    """The addresses of all frames."""
    return [reverse(name) for name in ("work", "work-missing", "work-outbox", *(f"work-{act}" for act in ACTS))]


def list_templates() -> list[Path]:
    """The files that the frames are made of."""
    base: Any = get_template("at-work/base.html")
    return sorted(Path(base.origin.name).parent.glob("*.html"))


def list_hosts() -> list[str]:
    """The hosts that labels of this installation carry; one that begins with a dot stands for all below it."""
    return sorted({settings.CUSTODY_ORIGIN.partition(":")[0].lower(), *settings.ALLOWED_HOSTS} - {"*"})


def frame_data() -> dict[str, Any]:
    """What every frame carries for its scripts (`at-work/data.html`)."""
    files = {name: static(path) for name, path in FILES.items()}
    return {"files": files, "hosts": list_hosts()}


@frame
def words(request: HttpRequest) -> HttpResponse:
    """The words of the scripts in the visitor's language, as a module: once for all frames, which never come in two."""
    return HttpResponse(
        f"export default {json.dumps(phone_words(), indent=0)};\n", content_type="text/javascript; charset=utf-8"
    )


@frame
def place(request: HttpRequest) -> HttpResponse:
    return render(request, "at-work/place.html", frame_data())


@frame
def act(request: HttpRequest, name: str) -> HttpResponse:
    return render(request, "at-work/act.html", {**frame_data(), "act": name, "title": ACTS[name]})


@frame
def outbox(request: HttpRequest) -> HttpResponse:
    return render(request, "at-work/outbox.html", frame_data())


@frame
def missing(request: HttpRequest) -> HttpResponse:
    return render(request, "at-work/missing.html", frame_data())
