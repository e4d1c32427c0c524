"""Access by token: `Authorization: Bearer …`."""

from __future__ import annotations

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from custody.queries.tokens import Access, find_access

WORD = "Bearer"


class TokenAuthentication(BaseAuthentication):
    """Takes a token, or leaves it to others where none is given. `request.auth` is its `Access`."""

    def authenticate(self, request: Request) -> tuple[Any, Access] | None:
        word, _, token = request.headers.get("Authorization", "").partition(" ")
        if word.lower() != WORD.lower():
            return None
        access = find_access(token.strip())
        if access is None:
            raise AuthenticationFailed("This token is not one of ours, or was withdrawn.")
        return access.user, access

    def authenticate_header(self, request: Request) -> str:
        return WORD


class TokenScheme(OpenApiAuthenticationExtension):
    """How the description of the API names it."""

    target_class = TokenAuthentication
    name = "token"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "http", "scheme": "bearer"}
