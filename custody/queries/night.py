"""The end of the night: how every polling place stands, who holds what is not back, and how it came in.

As of everything on record, from the derived tables alone: asked for every half minute by every screen of an office.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from django.db.models import Count, Max, Min, Q

from custody import store
from custody.domain.policy import Policies, Policy, When
from custody.domain.vocabulary import ItemKind, Role
from custody.models.derived import BackRow, OwedRow, PlaceRow
from custody.models.night import Estimate, Way
from custody.queries.outstanding import Holder, due_back, number_to_ring, phones_of, read_holder
from custody.queries.places import CurrentElection, get_current_election
from custody.registers import get_register

MINUTE = 60


class PlaceState(StrEnum):
    """How a place stands; the first of these that fits, in this order: in, overdue, on the way, silent, at work."""

    OVERDUE = "overdue"
    SILENT = "silent"
    ON_THE_WAY = "on_the_way"
    AT_WORK = "at_work"
    IN = "in"


class Basis(StrEnum):
    """What an expected arrival rests on: an estimate as typed (`Way`), policy's limit for transit, or the return deadline."""

    CLOSING = Way.CLOSING
    DEPARTURE = Way.DEPARTURE
    TIME = Way.TIME
    POLICY = "policy"
    DEADLINE = "deadline"


@dataclass(frozen=True, slots=True, kw_only=True)
class NightPlace:
    """One polling place; instants in Unix seconds.

    `since`: in since the last item came back; on the way, and overdue there, since the first courier took something;
    at work or silent since the last entry made there, or `None`. `couriers` hold what is controlled, first those who took it
    first. `expected` is `None` for a place that is in.
    """

    site: str
    state: PlaceState
    since: int | None
    owed: int
    back: int
    closed: int
    heard: int | None
    couriers: tuple[Holder, ...]
    expected: int | None
    basis: Basis | None


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldByParty:
    """What one party holds of all that is not back: how many items of which places, the first of them since when."""

    holder: Holder | None
    since: int
    items: int
    sites: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Night:
    """One election's night. Places by state, the most pressing first, then by code; parties by who has held longest."""

    election: CurrentElection
    places: Sequence[NightPlace]
    parties: Sequence[HeldByParty]

    def count(self, state: PlaceState) -> int:
        return sum(each.state is state for each in self.places)

    @property
    def items_out(self) -> int:
        return sum(each.owed for each in self.places)

    @property
    def items_back(self) -> int:
        return sum(each.back for each in self.places)


@dataclass(slots=True, kw_only=True)
class _Out:
    """What a place still owes: how much, and which couriers have something controlled since when."""

    owed: int = 0
    since: int = 0
    couriers: list[tuple[int, Holder]] = field(default_factory=list)


def get_night(log: store.LogHead, *, now: int) -> Night | None:
    """How the election that is on stands at `now`; `None` as long as nothing is on record for one."""
    election = get_current_election(log)
    if election is None:
        return None
    register = get_register(log.jurisdiction)
    policy = register.policies.at(election.return_deadline)
    _, returned = due_back(register, election.code)
    opened = register.elections[election.code].polls_open
    out, parties = _read_out(_owed_rows(log, election.code, returned, policy), since=opened)
    back = _back_rows(log, election.code, returned)
    clocks = _clocks(log, election.code)
    typed = _estimates(log, election.code)
    kits = {site for (code, site), items in register.kits.items() if items and code == election.code}
    places = [
        _place(
            site,
            out.get(site),
            back.get(site),
            clocks.get(site, (election.polls_close, None)),
            _Expecting(election.return_deadline, register.policies, typed.get(site)),
            now,
        )
        for site in sorted({*kits, *out, *back, *(site for site, (_, heard) in clocks.items() if heard is not None)})
    ]
    order = {state: at for at, state in enumerate(PlaceState)}
    places.sort(key=lambda each: order[each.state])
    return Night(election=election, places=places, parties=parties)


@dataclass(frozen=True, slots=True)
class _Expecting:
    """What the expected arrival of a place follows from."""

    deadline: int
    policies: Policies
    typed: tuple[str, int] | None

    def arrival(self, closed: int, departed: int | None) -> tuple[int, Basis]:
        """As typed; else policy's time for transit once the things have left; until then the return deadline."""
        if self.typed is not None:
            way, value = self.typed
            if way == Way.TIME:
                return value, Basis.TIME
            if way == Way.CLOSING:
                return closed + value * MINUTE, Basis.CLOSING
            if departed is not None:
                return departed + value * MINUTE, Basis.DEPARTURE
        if departed is not None:
            return departed + self.policies.at(departed).transit_minutes_at_most * MINUTE, Basis.POLICY
        return self.deadline, Basis.DEADLINE


def _place(
    site: str,
    out: _Out | None,
    back: tuple[int, int] | None,
    clock: tuple[int, int | None],
    expecting: _Expecting,
    now: int,
) -> NightPlace:
    closed, heard = clock
    couriers = sorted(out.couriers, key=_taken) if out else []
    departed = couriers[0][0] if couriers else None
    expected, basis = expecting.arrival(closed, departed)
    silent = closed <= now and (heard is None or heard <= closed)  # as `judge.is_waiting` has it
    since = heard if departed is None else departed
    if out is None and back is not None:
        state, since = PlaceState.IN, back[0]
    elif out is not None and now > min(expected, expecting.deadline):
        state = PlaceState.OVERDUE
    elif departed is not None:
        state = PlaceState.ON_THE_WAY
    else:
        state = PlaceState.SILENT if silent else PlaceState.AT_WORK
    return NightPlace(
        site=site,
        state=state,
        since=since,
        owed=out.owed if out else 0,
        back=back[1] if back else 0,
        closed=closed,
        heard=heard,
        couriers=tuple(dict.fromkeys(holder for _, holder in couriers)),
        expected=expected if out else None,
        basis=basis if out else None,
    )


def _taken(courier: tuple[int, Holder]) -> int:
    return courier[0]


def _read_out(rows: Iterable[tuple[Any, ...]], *, since: int) -> tuple[dict[str, _Out], list[HeldByParty]]:
    """By place and by party. Only what couriers took since the polls opened is on its way back: before, it was on its way out."""
    places: dict[str, _Out] = {}
    parties: dict[Holder | None, tuple[int, int, set[str]]] = {}
    for site, held, items, controlled, owed_since in rows:
        holder, taken = read_holder(held) if held else (None, owed_since)
        out = places.setdefault(site, _Out())
        out.owed += items
        if holder and controlled and holder.role == Role.COURIER and holder.site is None and taken >= since:
            out.couriers.append((taken, holder))
        first, count, sites = parties.get(holder, (taken, 0, set()))
        sites.add(site)
        parties[holder] = (min(first, taken), count + items, sites)
    listed = [
        HeldByParty(holder=holder, since=first, items=count, sites=tuple(sorted(sites)))
        for holder, (first, count, sites) in parties.items()
    ]
    return places, sorted(listed, key=lambda each: (each.since, each.sites))


def _owed_rows(
    log: store.LogHead, election: str, returned: frozenset[str], policy: Policy
) -> Iterable[tuple[Any, ...]]:
    """`(site, holder, items, controlled, since)`: what each party holds of each place, and how much of it is controlled."""
    controlled = [kind.value for kind in ItemKind if policy.items[kind].controlled is When.YES]
    rows = OwedRow.objects.filter(log_id=log.id, election=election, kind__in=returned).values_list("site", "holder")
    return rows.annotate(
        items=Count("*"), controlled=Count("kind", filter=Q(kind__in=controlled)), earliest=Min("since")
    )


def _back_rows(log: store.LogHead, election: str, returned: frozenset[str]) -> dict[str, tuple[int, int]]:
    """Of each place of which anything came back: when the last of it did, and how much."""
    rows = BackRow.objects.filter(log_id=log.id, election=election, kind__in=returned).values_list("site")
    return {site: (last, count) for site, last, count in rows.annotate(last=Max("back"), items=Count("*"))}


def _clocks(log: store.LogHead, election: str) -> dict[str, tuple[int, int | None]]:
    """When the polls of each place closed, and the last entry made there."""
    rows = PlaceRow.objects.filter(log_id=log.id, election=election).values_list("site", "closed", "last_here")
    return {site: (closed, last) for site, closed, last in rows}


def _estimates(log: store.LogHead, election: str) -> dict[str, tuple[str, int]]:
    rows = Estimate.objects.filter(jurisdiction=log.jurisdiction, log=log.name, election=election)
    return {site: (way, value) for site, way, value in rows.values_list("site", "way", "value")}


def get_estimate(log: store.LogHead, election: str, site: str) -> tuple[str, int] | None:
    """How and what somebody typed for a place."""
    return _estimates(log, election).get(site)


def numbers_to_ring(log: store.LogHead, holders: Iterable[Holder | None]) -> Mapping[Holder, str]:
    """The number of the first of a party's people who has one on file, else of the place where they are."""
    wanted = [each for each in dict.fromkeys(holders) if each is not None]
    phones = phones_of(log.jurisdiction, wanted)
    register = get_register(log.jurisdiction)
    return {each: number_to_ring(each, None, phones, register) or "" for each in wanted}
