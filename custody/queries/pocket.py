"""The pocket register of a place: what a phone needs to work there without a network.

Everything that is at the place, in its kit or owed by it, with what lies in and around those; at a warehouse, a receiving
station, a vault or a count center also what is owed or on its way anywhere. As the log stands when it is asked for.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from custody import clock, store
from custody.domain.entries import Step
from custody.domain.instants import dump_instant
from custody.domain.policy_document import dump_policy
from custody.domain.state_codec import load_state
from custody.domain.states import ItemState
from custody.domain.views import item_key
from custody.domain.vocabulary import SiteKind
from custody.models.derived import FOREVER, OnRecord, OwedRow
from custody.models.register import Assignment, Item, Key, Kit, PersonalValue, SealLot, Site
from custody.projections.reading import query_in
from custody.projections.recorded_lines import record_lines
from custody.queries.places import find_election
from custody.queries.shown import Shown
from custody.registers import get_register

_OUTSIDE = (SiteKind.POLLING_PLACE, SiteKind.DROP_BOX)
_DEPTH = 8
"""Levels of containers that are followed; more than anybody packs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PocketPlace:
    """The place that a pocket register is for, and the election that is on."""

    site: str
    kind: str
    election: str
    election_name: str


def find_pocket_place(shown: Shown, code: str) -> PocketPlace | None:
    """The place of that code; `None` when the register has none, or no election."""
    row = Site.objects.filter(jurisdiction=shown.jurisdiction, code=code, retired=False).values("code", "kind").first()
    election = find_election(shown)
    if row is None or election is None:
        return None
    return PocketPlace(site=row["code"], kind=row["kind"], election=election[0], election_name=election[1])


def get_pocket(shown: Shown, place: PocketPlace) -> dict[str, Any]:
    """The pocket register as JSON. Queries are as many for a thousand items as for one."""
    register = get_register(shown.jurisdiction)
    owed = _owed(shown.log, place)
    kits = _kits(shown, place)
    candidates = {*owed, *_handled(shown.log, place), *(code for codes in kits.values() for code in codes)}
    home = Item.objects.filter(jurisdiction=shown.jurisdiction, home_site=place.site, retired=False)
    states = _states(shown.log, candidates | set(home.values_list("code", flat=True)))
    wanted = {code for code in candidates if code in kits.get(place.site, ()) or code in owed}
    wanted |= {code for code, state in states.items() if state.holder is not None and state.holder.site == place.site}
    if place.kind == SiteKind.WAREHOUSE:
        wanted |= candidates | set(home.values_list("code", flat=True))
    wanted = _with_what_is_around(wanted, states)
    people = {person for code in wanted if code in states for person in _holders(states[code])}
    now = clock.now()
    return {
        "log": shown.log.path if shown.log else f"{shown.jurisdiction}/{shown.rehearsal or 'main'}",
        "site": place.site,
        "election": place.election,
        "election_name": place.election_name,
        "timezone": shown.timezone,
        "now": dump_instant(now),
        "head": shown.log.size if shown.log else 0,
        "items": [_item(row, states.get(row["code"]), owed) for row in _rows(shown, wanted)],
        "people": _people(shown, place, people, now),
        "lots": _lots(shown, place),
        "policy": dump_policy(register.policies.at(now)),
        "sites": _sites(shown, place),
        "kits": kits,
        "steps": _steps(shown.log, place),
    }


def _owed(log: store.LogHead | None, place: PocketPlace) -> dict[str, str]:
    """Item by item the place that owes it back: of the place itself, or of all where things come in."""
    if log is None:
        return {}
    rows = OwedRow.objects.filter(log_id=log.id, election=place.election)
    if place.kind in _OUTSIDE:
        rows = rows.filter(site=place.site)
    return dict(rows.values_list("item", "site"))


def _kits(shown: Shown, place: PocketPlace) -> dict[str, list[str]]:
    rows = Kit.objects.filter(jurisdiction=shown.jurisdiction, election=place.election, retired=False)
    if place.kind != SiteKind.WAREHOUSE:
        rows = rows.filter(site=place.site)
    kits = defaultdict(list)
    for site, item in rows.order_by("site", "item").values_list("site", "item"):
        kits[site].append(item)
    return dict(kits)


def _handled(log: store.LogHead | None, place: PocketPlace) -> set[str]:
    """The items that an entry touched which was made at the place, or on the road: nothing else can be here."""
    if log is None:
        return set()
    rows = OnRecord.objects.filter(log_id=log.id, election=place.election, site__in=(place.site, ""))
    touched = {key for keys in rows.values_list("keys", flat=True).iterator() for key in json.loads(keys)}
    return {key.partition(":")[2] for key in touched if key.startswith("item:")}


def _states(log: store.LogHead | None, codes: Iterable[str]) -> dict[str, ItemState]:
    """The present state of items and of all that lies in or around them, one query a level."""
    found: dict[str, ItemState] = {}
    pending = set(codes) if log else set()
    sql = "SELECT key, state FROM custody_version WHERE log_id = %s AND until = %s AND key IN ({})"
    for _ in range(_DEPTH):
        if not pending or log is None:
            break
        level: dict[str, ItemState] = {}
        for key, text in query_in(sql, (log.id, FOREVER), [item_key(code) for code in sorted(pending)]):
            state = load_state(key, text)
            assert isinstance(state, ItemState)
            level[key.partition(":")[2]] = state
        found |= level
        near = {code for state in level.values() for code in (*state.contents, state.container) if code}
        pending = near - found.keys()
    return found


def _with_what_is_around(codes: set[str], states: Mapping[str, ItemState]) -> set[str]:
    wanted, pending = set(codes), set(codes)
    while pending:
        around = [states[code] for code in pending if code in states]
        pending = {code for state in around for code in (*state.contents, state.container) if code} - wanted
        wanted |= pending
    return wanted


def _holders(state: ItemState) -> tuple[str, ...]:
    return state.holder.people if state.holder else ()


def _rows(shown: Shown, codes: set[str]) -> Iterable[Mapping[str, Any]]:
    members = ("code", "kind", "description", "tag", "seal_points", "opens")
    known = {}
    for start in range(0, len(ordered := sorted(codes)), 500):
        chunk = ordered[start : start + 500]
        rows = Item.objects.filter(jurisdiction=shown.jurisdiction, code__in=chunk).values(*members)
        known.update({row["code"]: row for row in rows})
    return [known[code] for code in ordered if code in known]


def _item(row: Mapping[str, Any], state: ItemState | None, owed: Mapping[str, str]) -> dict[str, Any]:
    holder = state.holder if state else None
    party: dict[str, Any] | None = {"role": str(holder.role), "people": list(holder.people)} if holder else None
    if party is not None and holder is not None and holder.site is not None:
        party["site"] = holder.site
    return {
        **row,
        "holder": party,
        "container": state.container if state else None,
        "seals": {name: point.seal.number for name, point in state.points if point.seal} if state else {},
        "owed": owed.get(row["code"]),
    }


def _people(shown: Shown, place: PocketPlace, holding: set[str], now: int) -> list[dict[str, Any]]:
    """Whoever is assigned at the place or on the move, and who holds something of it; keys are those valid now."""
    rows = Assignment.objects.filter(jurisdiction=shown.jurisdiction, election=place.election, retired=False)
    here = rows.filter(Q(site__in=(place.site, "")) | Q(person__in=sorted(holding)[:500]))
    roles = defaultdict(list)
    for person, role, site in here.order_by("person", "role", "site").values_list("person", "role", "site"):
        roles[person].append({"role": role, "site": site} if site else {"role": role})
    register, codes = get_register(shown.jurisdiction), sorted({*roles, *holding})
    named = PersonalValue.objects.filter(jurisdiction=shown.jurisdiction, field="name")
    names = dict(named.filter(person__in=codes).values_list("person", "value"))
    valid = Key.objects.filter(
        Q(valid_from=None) | Q(valid_from__lte=now),
        Q(valid_until=None) | Q(valid_until__gt=now),
        Q(revoked_at=None) | Q(revoked_at__gt=now),
        jurisdiction=shown.jurisdiction,
        person__in=codes,
        retired=False,
    )
    keys = defaultdict(list)
    for person, public_key in valid.order_by("person", "keyid").values_list("person", "public_key"):
        keys[person].append(public_key)
    return [
        {
            "code": code,
            "name": names.get(code, code),
            "roles": roles[code],
            "affiliation": register.people[code].affiliation if code in register.people else "",
            "keys": keys[code],
        }
        for code in codes
    ]


def _lots(shown: Shown, place: PocketPlace) -> list[dict[str, Any]]:
    rows = SealLot.objects.filter(jurisdiction=shown.jurisdiction, retired=False)
    if place.kind in _OUTSIDE:
        rows = rows.filter(issued_to__in=(place.site, ""))
    members = ("maker", "prefix", "first", "last", "width", "issued_to")
    return [dict(row) for row in rows.order_by("maker", "prefix", "first").values(*members)]


def _sites(shown: Shown, place: PocketPlace) -> list[dict[str, Any]]:
    """Places that a handoff from here may name: of polling places only this one, unless things come in from all."""
    rows = Site.objects.filter(jurisdiction=shown.jurisdiction, retired=False)
    if place.kind in _OUTSIDE:
        rows = rows.filter(~Q(kind__in=_OUTSIDE) | Q(code=place.site))
    return [dict(row) for row in rows.order_by("code").values("code", "name", "kind")]


def _steps(log: store.LogHead | None, place: PocketPlace) -> list[dict[str, Any]]:
    """The steps on record at this place, in custody order, as they were signed."""
    if log is None:
        return []
    rows = OnRecord.objects.filter(log_id=log.id, kind="step", election=place.election, site=place.site)
    ids = list(rows.order_by("time", "entry_id").values_list("entry_id", flat=True))
    lines = store.lines_of_entries(log, ids)
    entries = [record_lines(lines[each]).signed for each in ids]
    return [
        {"step": each.step.value, "at": dump_instant(each.at), "items": list(each.items)}
        for each in entries
        if isinstance(each, Step)
    ]
