"""What every page needs: the name of the rehearsal, if one is shown, and what the visitor may open."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from custody.queries.rights import AREAS, Right
from custody.web.access import standing_for


def rehearsal(request: HttpRequest | None) -> dict[str, str]:
    """From the settings, so that error pages have it too."""
    return {"rehearsal": settings.CUSTODY_REHEARSAL}


def may(request: HttpRequest) -> dict[str, object]:
    """By area of the table of rights, whether the visitor may go there, and the places of a crew; asked only by pages that
    show it."""
    return {
        "may": SimpleLazyObject(lambda: _areas(request)),
        "own_places": SimpleLazyObject(lambda: standing_for(request).places),
    }


def _areas(request: HttpRequest) -> dict[str, bool]:
    standing = standing_for(request)
    return {name: standing.right(area) is not Right.NO for name, area in AREAS.items()}
