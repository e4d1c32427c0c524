"""Which log a request is about: that of its token, else the one that the pages show."""

from __future__ import annotations

from rest_framework.request import Request

from custody.queries.shown import Shown, get_shown
from custody.queries.tokens import Access

_SHOWN = "custody_shown_to_programs"


def shown_for(request: Request) -> Shown:
    """The log that answers; looked up once a request. Raises `CustodyError` where a page could show none either."""
    known: Shown | None = getattr(request, _SHOWN, None)
    if known is None:
        access = request.auth
        known = get_shown(access.jurisdiction, access.log) if isinstance(access, Access) else get_shown()
        setattr(request, _SHOWN, known)
    return known
