"""Which log a request is about: that of its token, else the one that the pages show."""

from __future__ import annotations

from rest_framework.request import Request

from custody.queries.shown import Shown, get_shown
from custody.queries.tokens import Access


def shown_for(request: Request) -> Shown:
    """The log that answers. Raises `CustodyError` where a page could show none either."""
    access = request.auth
    return get_shown(access.jurisdiction, access.log) if isinstance(access, Access) else get_shown()
