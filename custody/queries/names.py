"""What codes stand for, for people: names of places and people, kinds of items. One query a kind, however many codes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Q

from custody.domain.labels import read_code
from custody.models.register import Item, PersonalValue, Site


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteName:
    """A place as the register has it; `kind` is a word of `SiteKind`."""

    code: str
    name: str
    kind: str
    address: str
    phone: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemName:
    """An item as the register has it; `kind` is a word of `ItemKind`."""

    code: str
    kind: str = ""
    description: str = ""
    serial: str = ""
    tag: str = ""
    home_site: str = ""
    seal_points: tuple[str, ...] = ()
    opens: tuple[str, ...] = ()
    retired: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """By code; a code that the register does not have is left out. `people` is empty for whoever may not see names."""

    sites: Mapping[str, SiteName] = field(default_factory=dict)
    people: Mapping[str, str] = field(default_factory=dict)
    items: Mapping[str, ItemName] = field(default_factory=dict)


SITE_MEMBERS = ("code", "name", "kind", "address", "phone")
ITEM_MEMBERS = ("code", "kind", "description", "serial", "tag", "home_site", "seal_points", "opens", "retired")


def get_names(
    jurisdiction: str,
    *,
    sites: Iterable[str | None] = (),
    people: Iterable[str] = (),
    items: Iterable[str | None] = (),
    personal: bool,
) -> Names:
    """The names of these codes; those of people only when `personal`."""
    wanted = sorted({code for code in sites if code})
    places = Site.objects.filter(jurisdiction=jurisdiction, code__in=wanted).values(*SITE_MEMBERS) if wanted else ()
    codes = sorted({code for code in items if code})
    known = Item.objects.filter(jurisdiction=jurisdiction, code__in=codes).values(*ITEM_MEMBERS) if codes else ()
    somebody = sorted(set(people)) if personal else []
    values = PersonalValue.objects.filter(jurisdiction=jurisdiction, field="name", person__in=somebody)
    return Names(
        sites={row["code"]: SiteName(**row) for row in places},
        people=dict(values.values_list("person", "value")) if somebody else {},
        items={row["code"]: item_name(row) for row in known},
    )


def item_name(row: Mapping[str, Any]) -> ItemName:
    return ItemName(**{**row, "seal_points": tuple(row["seal_points"]), "opens": tuple(row["opens"])})


def find_items(jurisdiction: str, text: str, *, limit: int = 50) -> list[ItemName]:
    """The items that somebody may mean by what was typed: a code as on its label, forgivingly read, a tag or a serial.

    A code that does not check, or a part of a tag, brings up what resembles it: the choice is the reader's.
    """
    text = text.strip()
    if not text:
        return []
    try:
        exact = Q(code=read_code(text))
    except ValueError:
        exact = Q(pk__in=())
    same = exact | Q(tag__iexact=text) | Q(serial__iexact=text)
    rows = Item.objects.filter(jurisdiction=jurisdiction).order_by("code").values(*ITEM_MEMBERS)
    found = list(rows.filter(same)[:limit])
    if not found and len(text) > 2:
        alike = Q(code__istartswith=text) | Q(tag__icontains=text) | Q(serial__icontains=text)
        found = list(rows.filter(alike)[:limit])
    return [item_name(row) for row in found]
