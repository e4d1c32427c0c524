"""Sessions of people with badges. Each is a user without a password, made when they first sign in."""

from __future__ import annotations

from django.contrib.auth import get_user_model
from django.contrib.auth.backends import BaseBackend
from django.contrib.auth.models import User

from custody import clock
from custody.queries.rights import visitor_of
from custody.services.sign_in import is_valid_person

PATH = f"{__name__}.BadgeBackend"


def user_for(name: str) -> User | None:
    """The user of a person, made if there is none yet; `None` for one that the office has switched off."""
    user, made = get_user_model().objects.get_or_create(username=name)
    if made:
        user.set_unusable_password()
        user.save()
    return user if user.is_active else None


class BadgeBackend(BaseBackend):
    """Says at every request who a session's user is: nobody, once the badge was revoked or has run out."""

    def get_user(self, user_id: int) -> User | None:
        user = get_user_model().objects.filter(pk=user_id, is_active=True).first()
        visitor = visitor_of(user) if user else None
        if visitor is None or not visitor.person:
            return None
        return user if is_valid_person(visitor.jurisdiction, visitor.person, now=clock.now()) else None
