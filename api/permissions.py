"""Who may ask what over HTTP."""

from __future__ import annotations

from typing import Any

from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from api.log import shown_for
from custody.queries.rights import may_read, visitor_of
from custody.queries.tokens import Access


class MayRead(BasePermission):
    """A token for reading its log, somebody signed in, or anybody where the pages are open."""

    def has_permission(self, request: Request, view: Any) -> bool:
        if isinstance(request.auth, Access):
            return request.auth.scope == "read"
        return may_read(visitor_of(request.user), shown_for(request))


class MayRecord(BasePermission):
    """Whoever delivers an envelope: what counts is its signatures. A token must be one for recording."""

    def has_permission(self, request: Request, view: Any) -> bool:
        return not isinstance(request.auth, Access) or request.auth.scope == "record"
