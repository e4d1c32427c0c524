"""What every page needs: the name of the rehearsal, if one is shown. From the settings, so that error pages have it too."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest


def rehearsal(request: HttpRequest | None) -> dict[str, str]:
    return {"rehearsal": settings.CUSTODY_REHEARSAL}
