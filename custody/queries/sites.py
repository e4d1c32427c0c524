"""The places of the register."""

from __future__ import annotations

from custody.models.register import Site
from custody.queries.names import SITE_MEMBERS, SiteName


def list_sites(jurisdiction: str) -> list[SiteName]:
    """Every place in service, by kind and code."""
    rows = Site.objects.filter(jurisdiction=jurisdiction, retired=False).order_by("kind", "code")
    return [SiteName(**row) for row in rows.values(*SITE_MEMBERS)]
