"""Open the public view of a jurisdiction's record to everybody, or shut it again."""

from __future__ import annotations

from custody.models.access import PageSettings


def open_public_view(jurisdiction: str, *, is_open: bool) -> None:
    PageSettings.objects.update_or_create(jurisdiction=jurisdiction, defaults={"public_view": is_open})
