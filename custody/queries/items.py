"""Items of the register in pages."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from django.db.models import Q

from custody.models.register import Item
from custody.queries.names import ITEM_MEMBERS, ItemName, item_name


def list_items(jurisdiction: str, *, asked: str, after: str, most: int) -> list[ItemName]:
    """As many as `most` items after a code, by code; those whose code, tag, serial or description holds what was asked for."""
    rows = Item.objects.filter(jurisdiction=jurisdiction, code__gt=after)
    if asked:
        texts = ("code", "tag", "serial", "description")
        wanted = Q()
        for name in texts:
            wanted |= Q(**{f"{name}__icontains": asked})
        rows = rows.filter(wanted)
    return [item_name(row) for row in rows.order_by("code").values(*ITEM_MEMBERS)[:most]]


def get_item(jurisdiction: str, code: str) -> ItemName | None:
    row = Item.objects.filter(jurisdiction=jurisdiction, code=code).values(*ITEM_MEMBERS).first()
    return item_name(row) if row else None


def item_as_json(item: ItemName) -> dict[str, Any]:
    """The row as outside programs know it."""
    return {**asdict(item), "seal_points": list(item.seal_points), "opens": list(item.opens)}
