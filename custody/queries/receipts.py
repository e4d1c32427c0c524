"""What a receipt tells beyond its entry: which places the things that were taken in are owed by."""

from __future__ import annotations

from collections.abc import Iterable

from custody import store
from custody.models.register import Kit


def owing_places(log: store.LogHead, items: Iterable[str]) -> set[str]:
    """The places whose kits these items are of, in any election of the log's jurisdiction."""
    kits = Kit.objects.filter(jurisdiction=log.jurisdiction, item__in=sorted(set(items)), retired=False)
    return set(kits.values_list("site", flat=True))
