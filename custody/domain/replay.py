"""The replay: what one entry does to holders, containers and seals, given the world before it in custody order.

`advance` is the only place where entries change states. It judges nothing: what it noticed on the way (things that were
not where the record had them, readings that differ) is left on the `Act` for the rules to report.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import assert_never

from custody.domain.acts import Act
from custody.domain.entries import (
    Access,
    Amend,
    Count,
    Dispose,
    Entry,
    Handoff,
    Hold,
    Incident,
    Inspect,
    Pack,
    Register,
    Resolve,
    Seal,
    Step,
    Unpack,
    Unseal,
    moved_items,
    named_items,
    people_of,
)
from custody.domain.parties import Party
from custody.domain.places import note_places
from custody.domain.replay_contents import change_items, correct_contents, pack_items, unpack_items
from custody.domain.replay_returns import note_owed, note_travel
from custody.domain.replay_seals import apply_seals, open_points, read_seals, remove_seals
from custody.domain.seal_states import LooseMove, LooseState, LooseVoid
from custody.domain.states import HeldBack, Holding, Lost, Resolution, SettlementState
from custody.domain.views import HOLDS_KEY, loose_keys, person_key, settlement_key
from custody.domain.vocabulary import (
    Category,
    DisposalMethod,
    Figure,
    HoldMovement,
    Role,
    StepName,
    UnsealReason,
)

RECOUNT_REASONS = frozenset({UnsealReason.COUNT, UnsealReason.AUDIT, UnsealReason.RECOUNT})


def advance(act: Act) -> None:
    """Apply an act's entry to its world. The steps, in order:

    1. what the entry names on its own comes out of the containers that the record has it in;
    2. seal readings, as found before anything was touched;
    3. the act itself;
    4. what follows for the way back, the owed list and the places it touches;
    5. who was where, for the next entry of the same people.
    """
    correct_contents(act)
    read_seals(act)
    _apply(act, act.entry)
    touched = touched_items(act)
    _note_elections(act, touched)
    note_owed(act, touched)
    note_travel(act)
    note_places(act, touched)
    _note_people(act)


def touched_items(act: Act) -> list[str]:
    """The items that an entry names and all that lies in them: what lies in a named container counts as named."""
    return act.found.with_contents(code for code in named_items(act.entry) if act.is_item(code))


def _apply(act: Act, entry: Entry) -> None:
    """Step 3: what each kind of entry does."""
    match entry:
        case Register():
            _hold_unheld(act, entry)
        case Handoff():
            _hand_over(act, entry)
        case Seal():
            apply_seals(act, entry)
            _end_service(act, entry)
        case Unseal():
            _unseal(act, entry)
        case Pack():
            pack_items(act, entry)
        case Unpack():
            unpack_items(act, entry)
        case Count():
            _count(act, entry)
        case Step():
            _step(act, entry)
        case Incident():
            _incident(act, entry)
        case Hold():
            _hold(act, entry)
        case Dispose():
            if entry.method is DisposalMethod.DESTROYED:
                change_items(act, act.found.with_contents(entry.items), destroyed=act.moment)
        case Resolve():
            _resolve(act, entry)
        case Inspect() | Access() | Amend():
            pass
        case _:
            assert_never(entry)


def _holding(act: Act, party: Party) -> Holding:
    return Holding(role=party.role, people=party.people, site=party.site, since=act.moment, election=act.entry.election)


def _hold_unheld(act: Act, entry: Register) -> None:
    for code in act.found.with_contents(entry.items):
        if act.after.holding(code) is None:
            change_items(act, [code], holder=_holding(act, entry.by))


def _hand_over(act: Act, entry: Handoff) -> None:
    change_items(act, act.found.with_contents(entry.items), holder=_holding(act, entry.receive))
    for code in entry.items:
        _found_again(act, code)
    for seals in entry.loose_seals:
        move = LooseMove(
            first=seals.first,
            last=seals.last,
            by=act.moment,
            election=entry.election,
            role=entry.receive.role,
            site=entry.receive.site,
        )
        for key in loose_keys(seals):
            state = act.after.get(key)
            assert isinstance(state, LooseState)
            act.after.put(key, replace(state, moves=(*state.moves, move)))


def _found_again(act: Act, code: str) -> None:
    lost = act.after.item(code).lost
    if lost is not None and lost.ended is None:
        change_items(act, [code], lost=lost._replace(ended=act.moment))


def _unseal(act: Act, entry: Unseal) -> None:
    remove_seals(act, entry)
    for code in dict.fromkeys(reading.item for reading in entry.seals):
        if entry.reason in RECOUNT_REASONS:
            change_items(act, [code], recount_due=True)
        if entry.reason is UnsealReason.SERVICE and entry.by.role is Role.TECHNICIAN:
            change_items(act, [code], service=entry.by.people)


def _end_service(act: Act, entry: Seal) -> None:
    """A technician's service ends with his seal after which no point of the item is open."""
    for code in dict.fromkeys(reading.item for reading in entry.seals):
        if set(act.after.item(code).service) & set(entry.by.people) and not open_points(act, code):
            change_items(act, [code], service=())


def _count(act: Act, entry: Count) -> None:
    if not act.is_item(entry.subject):
        return
    ballots = entry.figures.get(Figure.BALLOTS_IN_CONTAINER)
    change_items(act, [entry.subject], has_count=True, in_use=True, shown_empty=False)
    if ballots is not None:
        change_items(act, [entry.subject], ballots=ballots, recount_due=False)


def _step(act: Act, entry: Step) -> None:
    if entry.step is StepName.SHOWN_EMPTY:
        change_items(act, entry.items, in_use=False, shown_empty=True)
    if entry.step is StepName.RESULTS_READ_IN:
        for code in entry.items:
            change_items(act, [code], read_in=(*act.after.item(code).read_in, (entry.election, act.moment)))


def _incident(act: Act, entry: Incident) -> None:
    if entry.category is Category.LOST:
        lost = Lost(since=act.moment, site=entry.site, election=entry.election)
        for code in entry.items:
            if (known := act.after.item(code).lost) is None or known.ended is not None:
                change_items(act, [code], lost=lost)
    if entry.category is Category.FOUND:
        change_items(act, act.found.with_contents(entry.items), holder=_holding(act, entry.by))
        for code in entry.items:
            _found_again(act, code)
    if entry.category is Category.SEAL_VOID:
        for seals in entry.loose_seals:
            for key in loose_keys(seals):
                state = act.after.get(key)
                assert isinstance(state, LooseState)
                void = LooseVoid(first=seals.first, last=seals.last, by=act.moment)
                act.after.put(key, replace(state, voids=(*state.voids, void)))


def _hold(act: Act, entry: Hold) -> None:
    holds = act.after.holds().holds
    if entry.movement is HoldMovement.PLACE:
        placed = HeldBack(by=act.moment, election=entry.election, items=entry.items)
        act.after.put(HOLDS_KEY, replace(act.after.holds(), holds=(*holds, placed)))
        return
    lifted = tuple(
        each._replace(over=each.over or not entry.items, lifted=tuple(sorted({*each.lifted, *entry.items})))
        if each.by.entry == entry.lifts
        else each
        for each in holds
    )
    act.after.put(HOLDS_KEY, replace(act.after.holds(), holds=lifted))


def _resolve(act: Act, entry: Resolve) -> None:
    key = settlement_key(entry.finding)
    state = act.after.get(key)
    assert isinstance(state, SettlementState)
    said = Resolution(
        by=act.moment,
        election=entry.election,
        outcome=entry.outcome.value,
        people=tuple(sorted(act.signed_by.intersection(entry.by.people))),
    )
    act.after.put(key, replace(state, resolutions=(*state.resolutions, said)))


def _note_elections(act: Act, touched: Iterable[str]) -> None:
    """The elections that an item was named in, and the polling places it was at in each of them."""
    entry = act.entry
    here = {entry.site} if act.is_polling_place(entry.site) else set()
    party_sites = {party.site for party in (entry.release, entry.receive)} if isinstance(entry, Handoff) else set()
    moved = set(act.found.with_contents(moved_items(entry))) if party_sites else set()
    for code in touched:
        state = act.after.item(code)
        sites = here | {site for site in party_sites if code in moved and act.is_polling_place(site)}
        places = {*state.places, *((entry.election, site) for site in sites if site is not None)}
        elections = {*state.elections, entry.election}
        act.after.put_item(code, replace(state, elections=tuple(sorted(elections)), places=tuple(sorted(places))))


def _note_people(act: Act) -> None:
    """Step 5: where the people who are named and signed were last. Paper is left out: it was signed elsewhere.

    Everybody named or with a signature here is read, so that what changes about them, or their keys, reaches this entry.
    """
    named = people_of(act.entry)
    owners = (act.register.owner(each.keyid) for each in act.recorded.signatures)
    for person in named.union(each for each in owners if each is not None):
        before = act.was.person(person)
        if person in named & act.signed_by and act.entry.site is not None and act.entry.paper is None:
            act.after.put(person_key(person), replace(before, last=act.moment, site=act.entry.site))
