"""Which rules look at what: from an act to its findings, from a changed state to the scopes that must be looked at again."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import cast

from custody.domain.acts import Act
from custody.domain.findings import Finding
from custody.domain.parties import SealRange, parse_seal_range, split_number
from custody.domain.register import Register, SealLot
from custody.domain.rules import ENTRY_RULES, ITEM_RULES, JOURNEY_RULES, PLACE_RULES, STOCK_RULES
from custody.domain.scopes import ItemLife, Journey, PlaceDay, SealStock
from custody.domain.seal_states import LooseState, NumberState
from custody.domain.states import ItemState, JourneyState, Moment, PlaceEvent, State, empty_state
from custody.domain.tracks import BEGINNING, END, Tracks
from custody.domain.views import BLOCK, item_key, loose_key, loose_keys, number_key, place_key


def judge_act(act: Act) -> tuple[Finding, ...]:
    """The findings of one applied entry, by all entry rules."""
    return tuple(finding for rule in ENTRY_RULES for finding in rule(act))


def scopes_of(register: Register, key: str, old: State | None, new: State | None) -> set[str]:
    """The scopes, beyond the entry itself, whose findings may change when `new` holds under a key where `old` did."""
    word, _, name = key.partition(":")
    if word == "journey":
        return {key}
    if word == "place":
        # What was issued to a place is asked after as soon as, and as long as, an entry touches it.
        return {key, f"stock:{name}"} if empty_state(key) in (old, new) else {key}
    if old == new:
        return set()
    if word == "number":
        return _stocks(register, name)
    if word == "loose" and isinstance(old, LooseState) and isinstance(new, LooseState):
        return _loose_stocks(register, name, old, new)
    if word == "item" and isinstance(old, ItemState) and isinstance(new, ItemState):
        return _item_scopes(key, old, new)
    return set()


def _item_scopes(key: str, old: ItemState, new: ItemState) -> set[str]:
    """The item itself, its ways back and its places, each only where what they look at differs."""
    scopes: set[str] = set()
    if (old.lost, old.owed) != (new.lost, new.owed):
        scopes.add(key)
    scopes.update(f"journey:{travel.since.entry}" for travel in set(old.travels) ^ set(new.travels))
    for election, site in {(owed.election, owed.site) for owed in (*old.owed, *new.owed)}:
        if seen_from_place(old, election, site) != seen_from_place(new, election, site):
            scopes.add(f"place:{election}/{site}")
    return scopes


def seen_from_place(state: ItemState, election: str, site: str) -> tuple[object, ...]:
    """All that place rules may look at in an item's last state. What is not in here, they do not see."""
    left = [each for each in state.departures if (each.election, each.site) == (election, site)]
    receipts = [each for each in state.receipts if each.election == election]
    owes = any((each.election, each.site) == (election, site) for each in state.owed)
    return (owes, left, receipts, state.in_scanner, state.read_in, () if left else state.seals)


def _stocks(register: Register, number: str) -> set[str]:
    """The places whose seal stock a number belongs to, by its lots."""
    return {scope for lot in register.lots_with(number) for scope in _stocks_of_lot(register, lot)}


def _stocks_of_lot(register: Register, lot: SealLot) -> set[str]:
    elections = [lot.election] if lot.election else register.elections
    return {f"stock:{election}/{lot.issued_to}" for election in elections} if lot.issued_to else set()


def stocks_by_handoff(tracks: Tracks, key: str) -> set[str]:
    """The places whose seal stock a number belongs to by a handoff of loose seals; `key` is that of the number."""
    number = key.partition(":")[2]
    _, value, _ = split_number(number)
    state = tracks.last(loose_key(number))
    moves = state.moves if isinstance(state, LooseState) else ()
    return {f"stock:{move.election}/{move.site}" for move in moves if move.site and move.first <= value <= move.last}


def _loose_stocks(register: Register, name: str, old: LooseState, new: LooseState) -> set[str]:
    """The places that a run of loose seals was issued to, by a lot or a handoff, where something new is said of it."""
    prefix, width, block = name.rsplit("/", 2)
    begin = int(block) * BLOCK
    runs = {(each.first, each.last) for each in set(old.moves) ^ set(new.moves)}
    runs |= {(each.first, each.last) for each in set(old.voids) ^ set(new.voids)}
    scopes: set[str] = set()
    for first, last in runs:
        # What of the run lies in other blocks is looked at there.
        within = max(first, begin), min(last, begin + BLOCK - 1)
        for lot in register.lot_index.meeting(prefix, int(width), *within):
            scopes |= _stocks_of_lot(register, lot)
    for move in {*old.moves, *new.moves}:
        if move.site and _meets(runs, move.first, move.last):
            scopes.add(f"stock:{move.election}/{move.site}")
    return scopes


def _meets(runs: Iterable[tuple[int, int]], first: int, last: int) -> bool:
    return any(start <= last and first <= end for start, end in runs)


def prepare_scopes(register: Register, tracks: Tracks, scopes: Collection[str]) -> None:
    """Load what evaluating these scopes will ask for, so that a database is asked twice for all of them."""
    if tracks.is_whole:
        return
    keys = {scope for scope in scopes if scope.startswith("item:")}
    # A stock is judged only where the place has a day, and by what was handed over there.
    days = {scope: _day_of(scope) for scope in scopes if scope not in keys}
    tracks.prepare(sorted(days.values()), BEGINNING)
    for scope, day in days.items():
        states = [state for _, state in tracks.all(day)]
        if scope.startswith("stock:"):
            election, _, site = scope.partition(":")[2].partition("/")
            for seals in _stock_ranges(register, tracks, election, site) if states else ():
                keys.update(map(number_key, seals.numbers()), loose_keys(seals))
        else:
            keys.update(item_key(code) for state in states for code in cast(PlaceEvent | JourneyState, state).items)
    tracks.prepare(sorted(keys), END)


def _day_of(scope: str) -> str:
    """The key of what a scope goes by: a journey's own, a place's day for the place and for its stock."""
    word, _, name = scope.partition(":")
    return f"place:{name}" if word == "stock" else scope


def evaluate_scope(register: Register, tracks: Tracks, scope: str) -> tuple[Finding, ...]:
    """The findings of a journey, a place, a seal stock or an item, as everything on record stands."""
    word, _, name = scope.partition(":")
    if word == "item":
        life = ItemLife(code=name, state=cast(ItemState, tracks.last(scope)), register=register)
        return tuple(finding for rule in ITEM_RULES for finding in rule(life))
    if word == "journey":
        journey = _journey(register, tracks, scope)
        return tuple(finding for rule in JOURNEY_RULES for finding in rule(journey)) if journey else ()
    if word == "place":
        day = place_day(register, tracks, scope)
        return tuple(finding for rule in PLACE_RULES for finding in rule(day)) if day else ()
    election, _, site = name.partition("/")
    if election not in register.elections or site not in register.sites:
        return ()
    if not tracks.all(place_key(election, site)):
        return ()
    stock = _seal_stock(register, tracks, election, site)
    return tuple(finding for rule in STOCK_RULES for finding in rule(stock))


def _items(tracks: Tracks, codes: Iterable[str]) -> dict[str, ItemState]:
    codes = sorted(set(codes))
    tracks.prepare((item_key(code) for code in codes), END)
    return {code: cast(ItemState, tracks.last(item_key(code))) for code in codes}


def _journey(register: Register, tracks: Tracks, scope: str) -> Journey | None:
    entry = scope.partition(":")[2]
    for position, state in tracks.all(scope):
        journey = cast(JourneyState, state)
        return Journey(
            start=Moment(position[0], entry),
            election=journey.election,
            place=journey.place,
            site=journey.site,
            items=_items(tracks, journey.items),
            controlled=frozenset(journey.controlled),
            register=register,
        )
    return None


def place_day(register: Register, tracks: Tracks, scope: str) -> PlaceDay | None:
    """A polling place's day, or `None` when the register knows no such election or place."""
    election, _, site = scope.partition(":")[2].partition("/")
    if election not in register.elections or site not in register.sites:
        return None
    events = [(position, cast(PlaceEvent, state)) for position, state in tracks.all(scope)]
    return PlaceDay(
        election=register.elections[election],
        site=site,
        events=events,
        items=_items(tracks, (code for _, event in events for code in event.items)),
        register=register,
    )


def _stock_ranges(register: Register, tracks: Tracks, election: str, site: str) -> list[SealRange]:
    """The runs of seals that the register's lots or loose handoffs issued to a place."""
    ranges = [lot.seals for lot in register.lot_index.issued_to(site) if lot.election in ("", election)]
    for _, state in tracks.all(place_key(election, site)):
        ranges.extend(parse_seal_range(text) for text in cast(PlaceEvent, state).loose_in)
    return ranges


def _seal_stock(register: Register, tracks: Tracks, election: str, site: str) -> SealStock:
    """The numbers that the register's lots or loose handoffs issued to a place, with what is known of each."""
    ranges = _stock_ranges(register, tracks, election, site)
    values = {
        number: split_number(number)[1] for number in sorted({each for seals in ranges for each in seals.numbers()})
    }
    tracks.prepare([*map(number_key, values), *(key for seals in ranges for key in loose_keys(seals))], END)
    loose = {number: cast(LooseState, tracks.last(loose_key(number))) for number in values}
    return SealStock(
        election=register.elections[election],
        site=site,
        numbers={number: cast(NumberState, tracks.last(number_key(number))) for number in values},
        moves={
            number: tuple(move for move in loose[number].moves if move.first <= value <= move.last)
            for number, value in values.items()
        },
        voids={
            number: tuple(void for void in loose[number].voids if void.first <= value <= void.last)
            for number, value in values.items()
        },
        register=register,
    )
