"""The places where somebody may work in the election that is on."""

from __future__ import annotations

from typing import Any

from custody.models.register import Assignment, Site
from custody.queries.places import find_election
from custody.queries.shown import Shown


def list_workplaces(shown: Shown, person: str | None) -> list[dict[str, Any]]:
    """Code, name and kind of the places that a person is assigned to; all of them for `None`, or for who is on the move."""
    rows = Site.objects.filter(jurisdiction=shown.jurisdiction, retired=False).order_by("kind", "code")
    election = find_election(shown)
    if person is not None and election is not None:
        held = Assignment.objects.filter(
            jurisdiction=shown.jurisdiction, election=election[0], person=person, retired=False
        )
        sites = set(held.values_list("site", flat=True))
        if "" not in sites:
            rows = rows.filter(code__in=sites)
    return [dict(row) for row in rows.values("code", "name", "kind")]
