"""What is printed: items for labels, people for cards, numbers of seals for practice. In the order in which kits are laid out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.db.models import Q

from custody import store
from custody.domain.state_codec import load_state
from custody.domain.states import ItemState
from custody.domain.views import item_key
from custody.models.derived import FOREVER, Version
from custody.models.register import Assignment, Item, Kit, Person, PersonalValue, SealLot, Site


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedItem:
    """An item as its label shows it; `kind` is a word of `ItemKind`."""

    code: str
    kind: str
    description: str
    tag: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedPerson:
    """A person as a card shows them, in one role; `role` is a word of `Role`, `place` a name, empty on the road."""

    code: str
    name: str
    affiliation: str
    role: str
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedSeal:
    """A number of a seal, and where it is in place: an item's code and point, or nothing."""

    number: str
    maker: str
    where: str


def list_items_to_print(
    jurisdiction: str, *, site: str | None = None, kind: str | None = None, codes: Sequence[str] = ()
) -> list[PrintedItem]:
    """The items of the register: those in the kit of a site or at home there, of a kind, or named; by kind and code."""
    rows = Item.objects.filter(jurisdiction=jurisdiction, retired=False)
    if site is not None:
        kit = Kit.objects.filter(jurisdiction=jurisdiction, site=site, retired=False).values("item")
        rows = rows.filter(Q(code__in=kit) | Q(home_site=site))
    if kind is not None:
        rows = rows.filter(kind=kind)
    if codes:
        rows = rows.filter(code__in=codes)
    members = ("code", "kind", "description", "tag")
    return [PrintedItem(**row) for row in rows.order_by("kind", "code").values(*members)]


def list_people_to_print(
    jurisdiction: str, election: str, *, site: str | None = None, role: str | None = None, codes: Sequence[str] = ()
) -> list[PrintedPerson]:
    """Everybody with a role in an election, or those of these codes, once a person, by place and role."""
    rows = Assignment.objects.filter(jurisdiction=jurisdiction, election=election, retired=False)
    rows = rows.filter(**{name: value for name, value in (("site", site), ("role", role)) if value is not None})
    if codes:
        rows = rows.filter(person__in=codes)
    posts = list(rows.order_by("site", "role", "person").values_list("person", "role", "site"))
    places = dict(Site.objects.filter(jurisdiction=jurisdiction).values_list("code", "name"))
    people = dict(Person.objects.filter(jurisdiction=jurisdiction).values_list("code", "affiliation"))
    named = PersonalValue.objects.filter(jurisdiction=jurisdiction, field="name")
    names = dict(named.values_list("person", "value"))
    first = {person: (role, site) for person, role, site in reversed(posts)}
    return [
        PrintedPerson(
            code=person,
            name=names.get(person, person),
            affiliation=people.get(person, ""),
            role=role,
            place=places.get(site, site),
        )
        for person, (role, site) in sorted(first.items(), key=lambda each: (each[1][1], each[1][0], each[0]))
    ]


def list_seals_to_print(log: store.LogHead | None, jurisdiction: str, site: str, *, most: int) -> list[PrintedSeal]:
    """Numbers that are in place on what a site was given, then as many more of its lots as make `most`."""
    lots = list(
        SealLot.objects.filter(jurisdiction=jurisdiction, issued_to=site, retired=False).order_by("prefix", "first")
    )
    items = [each.code for each in list_items_to_print(jurisdiction, site=site)]
    placed = [PrintedSeal(number=number, maker="", where=where) for number, where in _in_place(log, items)]
    known = {each.number for each in placed}
    loose = (
        PrintedSeal(number=number, maker=maker, where="") for number, maker in _numbers(lots) if number not in known
    )
    return [*placed, *(each for each, _ in zip(loose, range(max(0, most - len(placed))), strict=False))]


def _in_place(log: store.LogHead | None, codes: Sequence[str]) -> Iterator[tuple[str, str]]:
    if log is None:
        return
    rows = Version.objects.filter(log_id=log.id, until=FOREVER, key__in=[item_key(code) for code in codes]).order_by(
        "key"
    )
    for key, text in rows.values_list("key", "state"):
        state = load_state(key, text)
        assert isinstance(state, ItemState)
        for point, held in state.points:
            if held.seal is not None:
                yield held.seal.number, f"{key.partition(':')[2]} {point}"


def _numbers(lots: Sequence[SealLot]) -> Iterator[tuple[str, str]]:
    for lot in lots:
        for number in range(lot.first, lot.last + 1):
            yield f"{lot.prefix}{number:0{lot.width}d}", lot.maker
