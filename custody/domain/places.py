"""A polling place's day, as the list of the entries that touch it: the replay notes each as a `PlaceEvent`.

An entry touches a place when it was made there, when a party of it stands there, or when an item that the place owes in that
election is named. The rules about places read these events and the last states of the place's items, never whole entries.
"""

from __future__ import annotations

from collections.abc import Sequence

from custody.domain.acts import Act
from custody.domain.entries import Count, Entry, Handoff, Pack, Seal, Step, Unpack, ends
from custody.domain.states import PlaceEvent
from custody.domain.views import place_key
from custody.domain.vocabulary import ItemKind, Purpose


def note_places(act: Act, touched: Sequence[str]) -> None:
    """Leave an event at every polling place that this entry touches."""
    entry = act.entry
    election = entry.election
    sites = {entry.site, *(party.site for _, party in ends(entry))}
    for code in touched:
        sites.update(owed.site for owed in act.after.item(code).owed if owed.election == election)
    if isinstance(entry, Handoff) and entry.purpose is Purpose.ISSUE:
        sites.update(act.register.kit_site.get((election, code)) for code in touched)
    for site in sorted(site for site in sites if site is not None and act.is_polling_place(site)):
        act.places.add((election, site))
        act.after.put(place_key(election, site), _event(act, touched, site))


def _event(act: Act, touched: Sequence[str], site: str) -> PlaceEvent:
    entry = act.entry
    owed = tuple(code for code in touched if _owes(act, code, site))
    kit = act.register.kits.get((entry.election, site), set())
    issues = isinstance(entry, Handoff) and entry.purpose is Purpose.ISSUE
    handed_out: tuple[str, ...] = ()
    if isinstance(entry, Handoff) and entry.release.site == site != entry.receive.site:
        handed_out = tuple(act.found.with_contents(entry.items))
    return PlaceEvent(
        here=entry.site == site,
        kind=entry.kind,
        step=entry.step.value if isinstance(entry, Step) else "",
        step_items=entry.items if isinstance(entry, Step) else (),
        subject=entry.subject if isinstance(entry, Count) else "",
        figures=tuple((name.value, figure) for name, figure in entry.figures.items())
        if isinstance(entry, Count)
        else (),
        items=owed,
        handed_out=handed_out,
        controlled_out=any(act.found.is_controlled(code) for code in handed_out),
        loaded=_loaded_scanners(act),
        issued=issues and not kit.isdisjoint(touched),
        packed=_devices(act, entry) if isinstance(entry, Pack) else (),
        unpacked=_devices(act, entry) if isinstance(entry, Unpack) else (),
        loose_in=_loose_in(entry, site),
    )


def _loose_in(entry: Entry, site: str) -> tuple[str, ...]:
    if isinstance(entry, Handoff) and entry.receive.site == site:
        return tuple(seals.text for seals in entry.loose_seals)
    return ()


def _owes(act: Act, code: str, site: str) -> bool:
    owed = act.after.item(code).owed
    return any((each.election, each.site) == (act.entry.election, site) for each in owed)


def _loaded_scanners(act: Act) -> tuple[str, ...]:
    """The scanners sealed or handed over by this entry while a memory device is packed in them."""
    entry = act.entry
    match entry:
        case Seal():
            codes = list(dict.fromkeys(reading.item for reading in entry.seals))
        case Handoff():
            codes = act.found.with_contents(entry.items)
        case _:
            return ()
    found = act.found
    return tuple(
        code
        for code in codes
        if found.kind(code) is ItemKind.SCANNER
        and any(found.kind(each) is ItemKind.MEMORY_DEVICE for each in found.inside(code))
    )


def _devices(act: Act, entry: Pack | Unpack) -> tuple[tuple[str, str], ...]:
    """The memory devices that this entry packs into, or unpacks from, a scanner: `(device, scanner)`."""
    if act.found.kind(entry.container) is not ItemKind.SCANNER:
        return ()
    return tuple((code, entry.container) for code in entry.items if act.found.kind(code) is ItemKind.MEMORY_DEVICE)
