"""Which states an entry will most likely ask for, so that a database is asked once for all of them instead of once for each.

A guess for speed and nothing else: what is missing here is loaded when it is read, what is too much is never used.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import cast

from custody.domain.entries import Resolve, Seal, ends, loose_seals, named_items, named_people, readings
from custody.domain.recorded import Recorded
from custody.domain.register import Register
from custody.domain.states import ItemState
from custody.domain.tracks import Tracks
from custody.domain.views import item_key, loose_key, loose_keys, number_key, person_key, place_key, settlement_key
from custody.domain.vocabulary import SiteKind


def prepare_entry(register: Register, tracks: Tracks, recorded: Recorded) -> None:
    """Load what an entry names, then what lies in and around the items it names, one query a level."""
    items = {each for code in named_items(recorded.entry) for each in _kin(register, code)}
    tracks.prepare([*map(item_key, sorted(items)), *_other_keys(register, recorded)], recorded.position)
    seen: set[str] = set()
    while items:
        seen |= items
        states = [cast(ItemState, tracks.before(item_key(code), recorded.position)) for code in items]
        items = {each for state in states for each in (*state.contents, state.container) if each} - seen
        tracks.prepare(map(item_key, sorted(items)), recorded.position)


def _kin(register: Register, code: str) -> Iterable[str]:
    """An item, the keys that open it, and what it opens itself."""
    known = register.items.get(code)
    return (code, *register.openers.get(code, ()), *(known.opens if known else ()))


def _other_keys(register: Register, recorded: Recorded) -> list[str]:
    entry = recorded.entry
    signers = (register.owner(signature.keyid) for signature in recorded.signatures)
    people = {*named_people(entry), *entry.observers, *(each for each in signers if each)}
    keys = [person_key(each) for each in sorted(people)]
    sites = {entry.site, *(party.site for _, party in ends(entry))}
    keys += [
        place_key(entry.election, site) for site in sorted(filter(None, sites)) if _is_polling_place(register, site)
    ]
    keys += [key for seals in loose_seals(entry) for key in loose_keys(seals)]
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
