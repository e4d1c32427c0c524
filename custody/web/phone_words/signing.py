"""Words of signing: badge, PIN, and what is saved."""

from __future__ import annotations

from django.utils.functional import Promise

WORDS: dict[str, str | Promise] = {}
