"""The replay of ways back: what is owed by which polling place, what is on the way, what came back and was opened there.

What must come back follows from use, not from the plan: an unplanned spare joins the list when it is used.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from custody.domain.acts import Act
from custody.domain.entries import (
    Count,
    Handoff,
    Incident,
    Inspect,
    Pack,
    Register,
    Seal,
    Step,
    Unpack,
    Unseal,
)
from custody.domain.parties import Party
from custody.domain.recorded import is_received
from custody.domain.states import Carried, Departure, ItemState, JourneyState, Owed, Receipt, Travel
from custody.domain.views import journey_key
from custody.domain.vocabulary import DESK_ROLES, Category, ItemKind, Purpose, Role, SiteKind

TAKES_BACK = frozenset({Role.RECEIVING_CLERK, Role.VAULT_CUSTODIAN})
OPENED_AT = frozenset({SiteKind.RECEIVING_STATION, SiteKind.COUNT_CENTER})
OPENED_KINDS = frozenset({ItemKind.BALLOT_CONTAINER, ItemKind.TRANSFER_CASE, ItemKind.ENVELOPE})


def note_owed(act: Act, touched: Iterable[str]) -> None:
    """Who owes each item back after this entry, and what came back by it."""
    entry = act.entry
    moved = act.found.with_contents(entry.items) if isinstance(entry, Handoff) else ()
    for code in moved if isinstance(entry, Handoff) else touched:
        for site in _owing_places(act, code):
            state = act.after.item(code)
            act.after.put_item(code, replace(state, owed=_owe(act, state, site)))
    if not isinstance(entry, Handoff) or not is_received(act.recorded, act.signed_by):
        return
    for code in moved:
        if entry.receive.role in TAKES_BACK or (
            entry.receive.role is Role.WAREHOUSE_CLERK and not act.found.is_controlled(code)
        ):
            state = act.after.item(code)
            owed = tuple(
                each._replace(back=act.moment) if each.back is None and each.since != act.moment else each
                for each in state.owed
            )
            act.after.put_item(code, replace(state, owed=owed))


def _owe(act: Act, state: ItemState, site: str) -> tuple[Owed, ...]:
    """The owed list with this place on it; a place that was square owes again from now on."""
    election = act.entry.election
    known = next((each for each in state.owed if (each.election, each.site) == (election, site)), None)
    if known is not None and known.back is None:
        return state.owed
    others = [each for each in state.owed if each is not known]
    return (*others, Owed(election=election, site=site, since=act.moment))


def _owing_places(act: Act, code: str) -> list[str]:
    """The polling places that owe an item because of this entry."""
    entry = act.entry
    match entry:
        case Handoff():
            sites = [entry.receive.site]
            if entry.purpose is Purpose.ISSUE:
                sites.append(act.register.kit_site.get((entry.election, code)))
        case Register() | Pack() | Unpack() | Seal() | Unseal() | Inspect() | Count() | Step():
            sites = [entry.site]
        case _:
            return []
    return [site for site in dict.fromkeys(sites) if site is not None and act.is_polling_place(site)]


def note_travel(act: Act) -> None:
    """The way back: begun, carried on, ended; departures from a polling place; receipts under seal and what followed."""
    entry = act.entry
    if isinstance(entry, Incident) and entry.category is Category.FOUND:
        for code in act.found.with_contents(entry.items):
            _pass_on(act, code, entry.by, delivered=False)
    if isinstance(entry, Unseal) and entry.site is not None:
        for code in dict.fromkeys(reading.item for reading in entry.seals):
            _note_opened(act, code, at=entry.site)
    if not isinstance(entry, Handoff):
        return
    received = is_received(act.recorded, act.signed_by)
    departing: list[str] = []
    for code in act.found.with_contents(entry.items):
        if act.found.item(code).travel is None and _departs(act, entry):
            departing.append(code)
        _carry_on(act, entry, code, received=received)
        if act.is_polling_place(entry.release.site) and entry.receive.site != entry.release.site:
            _note_departure(act, entry, code)
        _note_arrival(act, entry, code)
        _note_opened(act, code, at=None)
    if departing:
        journey = JourneyState(
            election=entry.election,
            place=entry.release.site or "",
            site=entry.site,
            items=tuple(sorted(departing)),
            controlled=tuple(sorted(code for code in departing if act.found.is_controlled(code))),
        )
        act.after.put(journey_key(act.recorded.id), journey)
    if received and act.site_kind(entry.receive.site) in OPENED_AT:
        _note_receipts(act, entry)


def _departs(act: Act, entry: Handoff) -> bool:
    return act.is_polling_place(entry.release.site) and entry.receive.role is Role.COURIER


def _carry_on(act: Act, entry: Handoff, code: str, *, received: bool) -> None:
    state = act.after.item(code)
    travel = state.travel
    if travel is None:
        if not _departs(act, entry):
            return
        carried = (Carried(people=entry.receive.people, since=act.moment),)
        travel = Travel(since=act.moment, site=entry.release.site or "", carried=carried)
        act.after.put_item(code, replace(state, travels=(*state.travels, travel)))
        return
    receiver = entry.receive
    delivered = entry.release.role is Role.COURIER and receiver.role in TAKES_BACK
    ended = received and (receiver.role in DESK_ROLES or act.is_polling_place(receiver.site))
    _pass_on(act, code, receiver, delivered=delivered, ended=ended)


def _pass_on(act: Act, code: str, receiver: Party, *, delivered: bool, ended: bool = False) -> None:
    """Another party has an item that is on its way: one stretch is over, and with a courier another begins."""
    state = act.after.item(code)
    travel = state.travel
    if travel is None:
        return
    *carried, last = travel.carried
    carried.append(last if last.until else last._replace(until=act.moment, delivered=delivered))
    if receiver.role is Role.COURIER:
        carried.append(Carried(people=receiver.people, since=act.moment))
    travel = travel._replace(carried=tuple(carried), ended=act.moment if ended else None)
    act.after.put_item(code, replace(state, travels=(*state.travels[:-1], travel)))


def _note_departure(act: Act, entry: Handoff, code: str) -> None:
    state = act.after.item(code)
    site = entry.release.site or ""
    departure = Departure(election=entry.election, site=site, by=act.moment, seals=tuple(state.seals.values()))
    others = (each for each in state.departures if (each.election, each.site) != (entry.election, site))
    act.after.put_item(code, replace(state, departures=(*others, departure)))


def _note_arrival(act: Act, entry: Handoff, code: str) -> None:
    """What a polling place has again has not left it."""
    state = act.after.item(code)
    kept = tuple(
        each for each in state.departures if (each.election, each.site) != (entry.election, entry.receive.site)
    )
    if kept != state.departures:
        act.after.put_item(code, replace(state, departures=kept))


def _note_receipts(act: Act, entry: Handoff) -> None:
    """What was taken in, not inside another container that is opened itself, and the seals on it as far as they were read.

    Without a seal too: a later reading may show that it was there (`replay_seals`).
    """
    for code in act.found.with_contents(entry.items):
        around = (act.found.kind(each) for each in act.found.around(code))
        state = act.after.item(code)
        if act.found.kind(code) not in OPENED_KINDS or OPENED_KINDS.intersection(around):
            continue
        receipt = Receipt(
            election=entry.election,
            site=entry.receive.site or "",
            by=act.moment,
            seals=tuple(state.seals.values()),
        )
        others = (each for each in state.receipts if each.election != entry.election)
        act.after.put_item(code, replace(state, receipts=(*others, receipt)))


def _note_opened(act: Act, code: str, *, at: str | None) -> None:
    """A receipt is done with when the item is unsealed where it was received (`at`), or handed on (`None`)."""
    state = act.after.item(code)
    receipts = tuple(
        each._replace(opened=act.moment)
        if each.opened is None and each.by != act.moment and at in (None, each.site)
        else each
        for each in state.receipts
    )
    if receipts != state.receipts:
        act.after.put_item(code, replace(state, receipts=receipts))
