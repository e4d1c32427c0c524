"""What is not back yet: who holds it, since when, in what, and which number to ring."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from django.db import connection

from custody import store
from custody.domain.instants import dump_instant
from custody.domain.register import Register
from custody.domain.returns import outstanding
from custody.domain.states import Holding
from custody.domain.vocabulary import ItemKind
from custody.projections.reading import query_in
from custody.queries.moments import Advance, Moment, look_at


@dataclass(frozen=True, slots=True, kw_only=True)
class Holder:
    """A party that holds something, as on record; `site` is `None` for people on the move."""

    role: str
    people: tuple[str, ...]
    site: str | None

    def as_json(self) -> dict[str, Any]:
        """A party as in a payload: `site` is left out for people on the move."""
        party: dict[str, Any] = {"role": self.role, "people": list(self.people)}
        return party if self.site is None else party | {"site": self.site}


def holder_of(holding: Holding | None) -> Holder | None:
    """The party of a holding."""
    if holding is None:
        return None
    return Holder(role=str(holding.role), people=tuple(holding.people), site=holding.site)


@dataclass(frozen=True, slots=True, kw_only=True)
class OutstandingItem:
    """An item that `site` owes back, overdue when the return deadline has passed.

    `since` is when its holder received it or, without a holder on record, since when it is owed. `phone` is that of the
    first of the holders who has one on file, else of where they are, else of `site`.
    """

    item: str
    kind: str
    election: str
    site: str
    holder: Holder | None
    since: int
    container: str | None
    phone: str | None
    overdue: bool

    def as_json(self) -> dict[str, Any]:
        """The row as outside programs know it; `holder` is left out when nobody is on record."""
        held = {} if self.holder is None else {"holder": self.holder.as_json()}
        return {
            "item": self.item,
            "kind": self.kind,
            "site": self.site,
            **held,
            "since": dump_instant(self.since),
            "container": self.container,
            "phone": self.phone,
            "overdue": self.overdue,
        }


def list_outstanding(
    log: store.LogHead,
    *,
    now: int,
    election: str | None = None,
    site: str | None = None,
    advance: Advance = lambda _: None,
) -> list[OutstandingItem]:
    """What is owed and not back at `now`, of one election or place when given; by election, place, kind and code."""
    return outstanding_at(look_at(log, now, advance), election=election, site=site)


def outstanding_at(moment: Moment, *, election: str | None, site: str | None) -> list[OutstandingItem]:
    """`list_outstanding` at a moment that is already looked at."""
    rows = _from_book(moment) if moment.past else _from_table(moment)
    chosen = [each for each in rows if election in (None, each.election) and site in (None, each.site)]
    phones = phones_of(moment.log.jurisdiction, (each.holder for each in chosen))
    listed = [replace(each, phone=number_to_ring(each.holder, each.site, phones, moment.register)) for each in chosen]
    return sorted(listed, key=lambda each: (each.election, each.site, each.kind, each.item))


def _from_book(moment: Moment) -> Iterator[OutstandingItem]:
    book = moment.book()
    codes = [key.partition(":")[2] for key in book.tracks.known() if key.startswith("item:")]
    for each in outstanding(codes, book.tracks.last, moment.register, now=moment.now):
        yield OutstandingItem(
            item=each.item,
            kind=each.kind.value,
            election=each.election,
            site=each.site,
            holder=holder_of(each.holder),
            since=each.since.time,
            container=each.container,
            phone=None,
            overdue=each.overdue,
        )


def _from_table(moment: Moment) -> Iterator[OutstandingItem]:
    """The rows of the table whose kind must be back at all: that is policy's, in the version in force at the deadline."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT election, site, item, kind, since, container, holder FROM custody_owedrow WHERE log_id = %s",
            [moment.log.id],
        )
        rows = cursor.fetchall()
    due = {code: due_back(moment.register, code) for code in {row[0] for row in rows}}
    for election, site, item, kind, owed_since, container, held in rows:
        deadline, returned = due[election]
        if deadline is None or kind not in returned:
            continue
        holder, since = read_holder(held) if held else (None, owed_since)
        yield OutstandingItem(
            item=item,
            kind=kind,
            election=election,
            site=site,
            holder=holder,
            since=since,
            container=container or None,
            phone=None,
            overdue=moment.now > deadline,
        )


def due_back(register: Register, code: str) -> tuple[int | None, frozenset[str]]:
    """The return deadline of an election, and the kinds of item that must be back by then."""
    election = register.elections.get(code)
    if election is None:
        return None, frozenset()
    policy = register.policies.at(election.return_deadline)
    return election.return_deadline, frozenset(kind.value for kind in ItemKind if policy.items[kind].returned)


def read_holder(held: str) -> tuple[Holder, int]:
    """The party that a row of the table names, and since when it holds the item."""
    role, people, site, (since, _), _ = json.loads(held)
    return Holder(role=role, people=tuple(people), site=site), since


def phones_of(jurisdiction: str, holders: Iterable[Holder | None]) -> Mapping[str, str]:
    """The numbers on file of the people of these parties, by code."""
    people = sorted({person for each in holders if each for person in each.people})
    sql = "SELECT person, value FROM custody_personalvalue WHERE jurisdiction = %s AND field = %s AND person IN ({})"
    return dict(query_in(sql, (jurisdiction, "phone"), people))


def number_to_ring(
    holder: Holder | None, site: str | None, phones: Mapping[str, str], register: Register
) -> str | None:
    """That of the first of a party's people who has one on file, else of the place where they are, else of `site`."""
    people = holder.people if holder else ()
    places = (register.sites.get(code or "") for code in (holder.site if holder else None, site))
    numbers = [*(phones.get(person) for person in people), *(place.phone for place in places if place)]
    return next((number for number in numbers if number), None)
