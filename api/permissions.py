"""Who may ask what over HTTP: the table of rights, and the scopes of tokens."""

from __future__ import annotations

from typing import Any

from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from api.log import shown_for
from custody.queries.rights import Audience, Right, Standing, area_of, standing_of, visitor_of
from custody.queries.tokens import Access

RECORD = "api:entries"


class HasRight(BasePermission):
    """Whoever the table gives the address. A token is good for its scope: to record, or to read."""

    def has_permission(self, request: Request, view: Any) -> bool:
        assert request.resolver_match is not None
        area = area_of(request.resolver_match.view_name)
        if area is not None and area.is_for_everybody and not isinstance(request.auth, Access):
            return True
        if isinstance(request.auth, Access) and request.auth.scope == "record":
            return area is area_of(RECORD)
        if isinstance(request.auth, Access) and area is area_of(RECORD):
            return False
        return standing_for(request).right(area) is not Right.NO


def standing_for(request: Request) -> Standing:
    """What whoever asks is: a program with a token, or a visitor as pages know them."""
    if isinstance(request.auth, Access):
        return Standing(visitor=visitor_of(request.user), audiences=frozenset({Audience.PROGRAM}))
    return standing_of(visitor_of(request.user), shown_for(request))
