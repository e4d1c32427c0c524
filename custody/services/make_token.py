"""Make an access token for a program. It is shown once; afterwards only its hash is known."""

from __future__ import annotations

import secrets

from django.contrib.auth import get_user_model

from custody import clock, store
from custody.errors import CustodyError
from custody.models.access import Token, digest_of


def make_token(user_name: str, scope: str, log: store.LogHead) -> str:
    """A new token of a user for one log. Raises `CustodyError("no-user")`."""
    user = get_user_model().objects.filter(username=user_name, is_active=True).first()
    if user is None:
        raise CustodyError("no-user", f"There is no user {user_name}.", user=user_name)
    token = secrets.token_urlsafe(32)
    Token.objects.create(
        digest=digest_of(token), user=user, scope=scope, jurisdiction=log.jurisdiction, log=log.name, made=clock.now()
    )
    return token
