"""What a receipt tells beyond its entry: which places owed the things that were taken in."""

from __future__ import annotations

from collections.abc import Iterable

from custody import store
from custody.models.derived import BackRow, OwedRow


def owing_places(log: store.LogHead, items: Iterable[str]) -> set[str]:
    """The places that owe any of these items, or owed them until they came back, whether by their kit or by use."""
    wanted = sorted(set(items))
    return {
        site
        for rows in (OwedRow.objects, BackRow.objects)
        for site in rows.filter(log_id=log.id, item__in=wanted).values_list("site", flat=True)
    }
