"""A polling place's day, as the list of the entries that touch it: the replay notes each as a `PlaceEvent`.

An entry touches a place when it was made there, when a party of it stands there, when an item that the place owes in that
election is named, or when it counts the place or an item of its kit, wherever that is done. The rules about places read
these events and the last states of the place's items, never whole entries.
"""

from __future__ import annotations

from collections.abc import Sequence

from custody.domain.acts import Act
from custody.domain.entries import Count, Entry, Handoff, Pack, Seal, Step, ends
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
    if isinstance(entry, Count):
        sites.update((entry.subject, act.register.kit_site.get((election, entry.subject))))
    for site in sorted(site for site in sites if site is not None and act.is_polling_place(site)):
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
        site=entry.site,
        here=entry.site == site,
        kind=entry.kind,
        step=entry.step.value if isinstance(entry, Step) else "",
        step_scanners=_step_scanners(act, entry) if isinstance(entry, Step) else (),
        subject=entry.subject if isinstance(entry, Count) else "",
        figures=tuple((name.value, figure) for name, figure in entry.figures.items())
        if isinstance(entry, Count)
        else (),
        items=owed,
        handed_out=handed_out,
        controlled_out=any(act.found.is_controlled(code) for code in handed_out),
        loaded=tuple(code for code in _loaded_scanners(act) if _place_of(act, code) == site),
        issued=issues and not kit.isdisjoint(touched),
        packed=(entry.container,) if isinstance(entry, Pack) and _loads(act, entry) else (),
        loose_in=_loose_in(entry, site),
    )


def _loose_in(entry: Entry, site: str) -> tuple[str, ...]:
    if isinstance(entry, Handoff) and entry.receive.site == site:
        return tuple(seals.text for seals in entry.loose_seals)
    return ()


def _owes(act: Act, code: str, site: str) -> bool:
    owed = act.after.item(code).owed
    return any((each.election, each.site) == (act.entry.election, site) for each in owed)


def _place_of(act: Act, code: str) -> str | None:
    """The place of an item in the entry's election: of those that owe it, the one that came to do so last."""
    owed = [each for each in act.after.item(code).owed if each.election == act.entry.election]
    return max(owed, key=lambda each: (each.since, each.site)).site if owed else None


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


def _loads(act: Act, entry: Pack) -> bool:
    """Whether an entry packs a memory device into a scanner."""
    found = act.found
    return found.kind(entry.container) is ItemKind.SCANNER and any(
        found.kind(code) is ItemKind.MEMORY_DEVICE for code in entry.items
    )


def _step_scanners(act: Act, entry: Step) -> tuple[str, ...]:
    """The scanners that a step is about: those it names, and those that a device it names is in or was in last."""
    found = act.found
    scanners: set[str] = set()
    for code in entry.items:
        if found.kind(code) is ItemKind.SCANNER:
            scanners.add(code)
        elif at_work := found.item(code).in_scanner:
            scanners.add(at_work[-1].scanner)
    return tuple(sorted(scanners))
