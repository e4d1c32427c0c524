"""Which states entries will most likely ask for, so that a database is asked once for all of them instead of once for each.

A guess for speed and nothing else: what is missing here is loaded when it is read, what is too much is never used.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import cast

from custody.domain.entries import Handoff, Resolve, Seal, ends, loose_seals, named_items, named_people, readings
from custody.domain.recorded import Position, Recorded
from custody.domain.register import Register
from custody.domain.states import ItemState
from custody.domain.tracks import BEGINNING, Tracks
from custody.domain.views import (
    item_key,
    journey_key,
    loose_key,
    loose_keys,
    number_key,
    person_key,
    place_key,
    settlement_key,
)
from custody.domain.vocabulary import SiteKind


def prepare_entries(register: Register, tracks: Tracks, entries: Iterable[Recorded]) -> None:
    """Load what entries name, then what lies in and around the items they name, one query a level."""
    if tracks.is_whole:
        return
    since: dict[str, Position] = {}
    items: dict[str, Position] = {}
    for recorded in entries:
        for key, position in _keys(register, recorded):
            since[key] = min(position, since.get(key, position))
        for code in named_items(recorded.entry):
            items[code] = min(recorded.position, items.get(code, recorded.position))
    tracks.prepare_each(since)
    seen: set[str] = set()
    while items:
        seen |= items.keys()
        around: dict[str, Position] = {}
        for code, position in items.items():
            state = cast(ItemState, tracks.before(item_key(code), position))
            for each in (*state.contents, state.container):
                if each and each not in seen:
                    around[each] = min(position, around.get(each, position))
        tracks.prepare_each({item_key(code): position for code, position in around.items()})
        items = around


def _keys(register: Register, recorded: Recorded) -> Iterator[tuple[str, Position]]:
    """The keys of one entry, each with the position from which on it is asked for: of a place, its whole day."""
    entry, here = recorded.entry, recorded.position
    sites = {entry.site, *(party.site for _, party in ends(entry))}
    places = [site for site in sorted(filter(None, sites)) if _is_polling_place(register, site)]
    for site in places:
        yield place_key(entry.election, site), BEGINNING
    items = {each for code in named_items(entry) for each in _kin(register, code)}
    items.update(*(register.kits.get((entry.election, site), ()) for site in places))
    for code in sorted(items):
        yield item_key(code), here
    for key in _other_keys(register, recorded):
        yield key, here


def _kin(register: Register, code: str) -> Iterable[str]:
    """An item, the keys that open it, and what it opens itself."""
    known = register.items.get(code)
    return (code, *register.openers.get(code, ()), *(known.opens if known else ()))


def _other_keys(register: Register, recorded: Recorded) -> list[str]:
    entry = recorded.entry
    signers = (register.owner(signature.keyid) for signature in recorded.signatures)
    people = {*named_people(entry), *entry.observers, *(each for each in signers if each)}
    keys = [person_key(each) for each in sorted(people)]
    keys += [key for seals in loose_seals(entry) for key in loose_keys(seals)]
    if isinstance(entry, Handoff):
        keys.append(journey_key(recorded.id))
    if isinstance(entry, Seal):
        numbers = [reading.number for reading in readings(entry) if reading.number]
        keys += [number_key(number) for number in numbers]
        keys += [loose_key(number) for number in numbers]
    if isinstance(entry, Resolve):
        keys.append(settlement_key(entry.finding))
    return keys


def _is_polling_place(register: Register, site: str) -> bool:
    known = register.sites.get(site)
    return known is not None and known.kind is SiteKind.POLLING_PLACE
