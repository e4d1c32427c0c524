"""The certificate of a container: what went in and out, every seal, every opening, counts; to be printed and signed for."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from custody.errors import CustodyError
from custody.paper.qr import make_symbol, symbol_path
from custody.queries.containers import get_container_log
from custody.queries.rights import is_own_item
from custody.queries.shown import Shown
from custody.web.access import may_see_people, own_only, page
from custody.web.facts import heading
from custody.web.listing import Named, name_all


@page
def show_container(request: HttpRequest, shown: Shown, code: str) -> HttpResponse:
    if shown.log is None:
        raise Http404(code)
    try:
        log = get_container_log(shown.log, code, now=shown.now)
    except CustodyError as error:
        raise Http404(error.detail) from error
    own_only(request, own=lambda standing: is_own_item(standing, shown, log.item, log.holder))
    symbol = make_symbol(f"HTTPS://{request.get_host().upper()}/Q/{log.item}")
    context = {
        "shown": shown,
        "section": "items",
        "now": shown.now,
        "log": log,
        "lines": [(each, heading(each.kind, each.members)) for each in log.lines],
        "picture": {"side": symbol.modules, "path": symbol_path(symbol)},
        "names": name_all(
            shown,
            [Named(items=(log.item, *log.contents), holder=log.holder), *log.lines],
            personal=may_see_people(request, shown),
        ),
    }
    return render(request, "containers/container.html", context)
