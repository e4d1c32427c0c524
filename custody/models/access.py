"""Who may come in: tokens of programs, and what signing in by badge leaves behind. Not evidence, hence ordinary tables."""

from __future__ import annotations

import hashlib

from django.conf import settings
from django.db import models

from custody.models.register import CODE

MOST_FAILURES = 10
"""Wrong PINs in a row, then the badge is switched off for signing in (NIST SP 800-63B)."""


def digest_of(token: str) -> str:
    """By what a token is known. It holds 256 bits of chance, so that one round of SHA-256 is enough."""
    return hashlib.sha256(token.encode()).hexdigest()


class Token(models.Model):
    """An access token, known by its SHA-256 alone; it belongs to one log. `made` is in Unix seconds."""

    class Scope(models.TextChoices):
        RECORD = "record"
        READ = "read"

    digest = models.CharField(max_length=64, primary_key=True)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    scope = models.CharField(max_length=8, choices=Scope)
    jurisdiction = models.CharField(max_length=CODE)
    log = models.CharField(max_length=CODE)
    made = models.BigIntegerField()

    def __str__(self) -> str:
        return f"{self.user_id}/{self.scope}"


class Challenge(models.Model):
    """A challenge that signed somebody in by badge: until `expires` (Unix seconds) it would do so again, were it not known."""

    nonce = models.CharField(max_length=64, primary_key=True)
    jurisdiction = models.CharField(max_length=CODE)
    person = models.CharField(max_length=CODE)
    expires = models.BigIntegerField(db_index=True)

    def __str__(self) -> str:
        return self.nonce


class BadgeTries(models.Model):
    """How often in a row signing in with somebody's badge went wrong."""

    jurisdiction = models.CharField(max_length=CODE)
    person = models.CharField(max_length=CODE)
    failures = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = (models.UniqueConstraint(fields=["jurisdiction", "person"], name="custody_badge_tries_once"),)

    def __str__(self) -> str:
        return f"{self.jurisdiction}/{self.person}"


class PageSettings(models.Model):
    """What a jurisdiction's office has chosen for its pages."""

    jurisdiction = models.CharField(max_length=CODE, primary_key=True)
    public_view = models.BooleanField(default=False)

    def __str__(self) -> str:
        return self.jurisdiction
