"""The register: people, keys, sites, items, seal lots, elections and kits, as the register log has it.

A register is built from the changes of that log, row by row, and can be built again from nothing. Names, phones and
addresses of people are not here: on record they are commitments, and no rule needs them. A row replaces the row of the
same key (`row_key`); leaving service is the member `retired` of a row, since what is on record keeps naming it.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from typing import Any

from custody.domain.instants import local_instant, parse_instant
from custody.domain.lots import Lots
from custody.domain.lots import SealLot as SealLot
from custody.domain.parties import SealRange, split_number
from custody.domain.policy import Policies
from custody.domain.policy_document import parse_policy
from custody.domain.vocabulary import STORAGE_KINDS, ItemKind, Role, SiteKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Election:
    """One election; schedule as instants. `date` is ISO 8601, local."""

    code: str
    name: str
    date: str
    timezone: str
    polls_open: int
    polls_close: int
    return_deadline: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """A place with a code. `phone` is the place's own, not a person's."""

    code: str
    name: str
    kind: SiteKind
    address: str = ""
    phone: str = ""

    @property
    def is_storage(self) -> bool:
        return self.kind in STORAGE_KINDS


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """A person as rules see them: a code and, where the law asks, an affiliation (empty: none)."""

    code: str
    affiliation: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One public key of one person, with the times within which it counts. `None` is open-ended."""

    keyid: str
    person: str
    public_key: bytes
    valid_from: int | None = None
    valid_until: int | None = None
    revoked_at: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """An accountable item. `opens` lists what a key set opens."""

    code: str
    kind: ItemKind
    description: str = ""
    serial: str = ""
    tag: str = ""
    home_site: str = ""
    seal_points: tuple[str, ...] = ()
    opens: tuple[str, ...] = ()


Row = Mapping[str, Any]


@dataclass(slots=True, kw_only=True)
class Register:
    """One jurisdiction's register, with the look-ups that rules need. Changed by `apply` alone."""

    elections: dict[str, Election] = field(default_factory=dict)
    sites: dict[str, Site] = field(default_factory=dict)
    people: dict[str, Person] = field(default_factory=dict)
    keys: dict[str, Key] = field(default_factory=dict)
    items: dict[str, Item] = field(default_factory=dict)
    lots: dict[tuple[str, str, str, int], SealLot] = field(default_factory=dict)
    roles: dict[tuple[str, str], set[tuple[Role, str]]] = field(default_factory=dict)
    desks: dict[tuple[str, Role, str], set[str]] = field(default_factory=dict)
    kits: dict[tuple[str, str], set[str]] = field(default_factory=dict)
    kit_site: dict[tuple[str, str], str] = field(default_factory=dict)
    openers: dict[str, set[str]] = field(default_factory=dict)
    policies: Policies = field(default_factory=Policies)
    lot_index: Lots = field(default_factory=Lots)

    def apply(self, table: str, rows: Iterable[Row]) -> None:
        """Take the rows of one change of the register log. Raises `ValueError` for a table that does not exist."""
        put = _PUT.get(table)
        if put is None:
            raise ValueError(f"the register has no table {table!r}")
        for row in rows:
            put(self, row)

    def copy(self) -> Register:
        """A register that can go on by itself. Rows are shared, since nothing changes a row."""
        parts = ((each.name, getattr(self, each.name)) for each in fields(self))
        return Register(**{name: _copy(part) for name, part in parts})

    def lots_with(self, number: str, maker: str | None = None) -> list[SealLot]:
        """The lots that hold a seal number, of one maker if given."""
        return [lot for lot in self.lot_index.with_number(number) if maker in (None, lot.maker)]

    def maker_of(self, number: str, maker: str | None) -> str | None:
        """The maker of a number: as given, else the only one who has it in a lot, else `None`."""
        if maker is not None:
            return maker
        makers = {lot.maker for lot in self.lots_with(number)}
        return makers.pop() if len(makers) == 1 else None

    def owner(self, keyid: str) -> str | None:
        """The person who holds a key."""
        key = self.keys.get(keyid)
        return key.person if key else None


def _copy(part: Any) -> Any:
    if isinstance(part, Lots):
        return part.copy()
    if not isinstance(part, dict):
        return part
    return {key: value.copy() if isinstance(value, set | list) else value for key, value in part.items()}


def _put_election(register: Register, row: Row) -> None:
    zone = row["timezone"]
    register.elections[row["code"]] = Election(
        code=row["code"],
        name=row["name"],
        date=row["date"],
        timezone=zone,
        **{name: local_instant(row[name], zone) for name in ("polls_open", "polls_close", "return_deadline")},
    )


def _put_site(register: Register, row: Row) -> None:
    register.sites[row["code"]] = Site(
        code=row["code"],
        name=row["name"],
        kind=SiteKind(row["kind"]),
        address=row.get("address", ""),
        phone=row.get("phone", ""),
    )


def _put_person(register: Register, row: Row) -> None:
    register.people[row["code"]] = Person(code=row["code"], affiliation=row.get("affiliation", ""))


def _put_key(register: Register, row: Row) -> None:
    public_key = base64.b64decode(row["public_key"], validate=True)
    keyid = hashlib.sha256(public_key).hexdigest()
    limits = {name: parse_instant(row[name]) for name in ("valid_from", "valid_until", "revoked_at") if row.get(name)}
    register.keys[keyid] = Key(keyid=keyid, person=row["person"], public_key=public_key, **limits)


def _put_assignment(register: Register, row: Row) -> None:
    election, person, role, site = row["election"], row["person"], Role(row["role"]), row.get("site", "")
    held, desk = (
        register.roles.setdefault((election, person), set()),
        register.desks.setdefault((election, role, site), set()),
    )
    if row.get("retired"):
        held.discard((role, site))
        desk.discard(person)
    else:
        held.add((role, site))
        desk.add(person)


def _put_item(register: Register, row: Row) -> None:
    before = register.items.get(row["code"])
    for opened in before.opens if before else ():
        register.openers[opened].discard(row["code"])
    item = Item(
        code=row["code"],
        kind=ItemKind(row["kind"]),
        **{name: row.get(name, "") for name in ("description", "serial", "tag", "home_site")},
        seal_points=tuple(row.get("seal_points", ())),
        opens=tuple(row.get("opens", ())),
    )
    register.items[item.code] = item
    for opened in item.opens:
        register.openers.setdefault(opened, set()).add(item.code)


def _put_lot(register: Register, row: Row) -> None:
    first, last = (f"{row['prefix']}{row[end]:0{row['width']}d}" for end in ("first", "last"))
    prefix, low, width = split_number(first)
    _, high, _ = split_number(last)
    lot = SealLot(
        maker=row["maker"],
        lot=row["lot"],
        seals=SealRange(text=f"{first}..{last}", prefix=prefix, first=low, last=high, width=width),
        seal_class=row.get("class", ""),
        issued_to=row.get("issued_to", ""),
        election=row.get("election", ""),
    )
    key = (lot.maker, lot.lot, row["prefix"], row["first"])
    before = register.lots.pop(key, None)
    if before is not None:
        register.lot_index.remove(before)
    if row.get("retired"):
        return
    register.lots[key] = lot
    register.lot_index.put(lot)


def _put_kit(register: Register, row: Row) -> None:
    election, site, item = row["election"], row["site"], row["item"]
    before = register.kit_site.pop((election, item), None)
    if before is not None:
        register.kits[election, before].discard(item)
    if row.get("retired"):
        return
    register.kits.setdefault((election, site), set()).add(item)
    register.kit_site[election, item] = site


def _put_policy(register: Register, row: Row) -> None:
    version = (parse_instant(row["valid_from"]), parse_policy(row["document"]))
    kept = (each for each in register.policies.versions if each[0] != version[0])
    register.policies = Policies(versions=tuple(sorted((*kept, version), key=lambda each: each[0])))


def _put_jurisdiction(register: Register, row: Row) -> None:
    """Its name and time zone are for pages; no rule needs them."""


_PUT = {
    "jurisdictions": _put_jurisdiction,
    "elections": _put_election,
    "sites": _put_site,
    "people": _put_person,
    "keys": _put_key,
    "assignments": _put_assignment,
    "items": _put_item,
    "seal_lots": _put_lot,
    "kits": _put_kit,
    "policy": _put_policy,
}
REGISTER_TABLES = tuple(_PUT)

KEY_MEMBERS: Mapping[str, tuple[str, ...]] = {
    "jurisdictions": ("code",),
    "elections": ("code",),
    "sites": ("code",),
    "people": ("code",),
    "keys": ("public_key",),
    "assignments": ("election", "person", "role", "site"),
    "items": ("code",),
    # One lot may be split between places; its parts differ in their first number.
    "seal_lots": ("maker", "lot", "prefix", "first"),
    "kits": ("election", "item"),  # an item is in one kit of an election
    "policy": ("valid_from",),
}


def row_key(table: str, row: Row) -> tuple[Any, ...]:
    """The members by which a later row replaces an earlier one, in a fixed order; one left out counts as empty."""
    return tuple(row.get(member, "") for member in KEY_MEMBERS[table])
