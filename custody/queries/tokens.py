"""Whom an access token belongs to. Only its SHA-256 is kept; what was found is remembered for a short while."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.core.cache import cache

from custody.models.access import Token, digest_of

SECONDS = 30
"""How long a token that was withdrawn may still be taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Access:
    """What a token gives: a scope, `record` or `read`, on one log, in the name of a user."""

    user: Any
    scope: str
    jurisdiction: str
    log: str


def find_access(token: str) -> Access | None:
    """What a token gives, or `None` for one that nobody has, or whose user may not sign in any more."""
    key = f"token:{digest_of(token)}"
    access: Access | None = cache.get(key)
    if access is None:
        row = Token.objects.select_related("user").filter(digest=digest_of(token), user__is_active=True).first()
        if row is None:
            return None
        access = Access(user=row.user, scope=row.scope, jurisdiction=row.jurisdiction, log=row.log)
        cache.set(key, access, SECONDS)
    return access
