"""Things on the way back from a polling place: how long they take, whether all of them arrive, keys beside their locks.

A thing is on the way back from the first handoff at a polling place to a courier until a desk, a vault or a polling place
received it. What one entry put on the way is one journey; which courier party carried which thing when is in its `Travel`.
The limits of 15 and 60 minutes and the separation of keys are common practice, no published source; counting out against
counting in, with the holder's name, is the UK Electoral Commission's practice for receiving.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from custody.domain.acts import Act
from custody.domain.entries import Handoff, Incident, Pack, readings
from custody.domain.entry_findings import entry_finding
from custody.domain.findings import Finding, Severity
from custody.domain.scopes import Journey
from custody.domain.states import Carried, Moment, Travel
from custody.domain.views import View

MINUTE = 60
CONTROLLED_MINUTES, OTHER_MINUTES = 15, 60


def slow_transit(journey: Journey) -> Iterator[Finding]:
    """Things are on the way back longer than policy allows.

    It arises at the limit, counted by the policy of the departure, and stays though they arrive. What arrives at the very
    limit is in time.
    """
    minutes = journey.register.policies.at(journey.start.time).transit_minutes_at_most
    limit = journey.start.time + minutes * MINUTE
    late = {
        code: travel for code, travel in _travels(journey).items() if travel.ended is None or travel.ended.time > limit
    }
    if late:
        people = {person for travel in late.values() for person in travel.couriers}
        yield _finding(journey, "slow-transit", Severity.WARNING, limit, late, people, minutes=minutes)


def short_delivery(journey: Journey) -> Iterator[Finding]:
    """A courier party delivered some things of a journey and still holds others.

    It arises 15 minutes after the party's last handoff to a receiving or vault party while it holds a controlled one, or
    60 minutes after it while it holds another that must be back; whichever comes first. A further delivery starts the
    time anew. Parties that share a person are one party, so that a `relieve` on the way changes nothing. The finding
    is cleared when the last thing that it names has left the couriers' hands.
    """
    travels = _travels(journey)
    caught = list(_held_back(journey, travels))
    if not caught:
        return
    people = {person for _, _, stretch in caught for person in stretch.people}
    right = [_set_down(travels[code], limit) for limit, code, _ in caught]
    cleared = None if None in right else max(moment for moment in right if moment is not None)
    at = min(limit for limit, _, _ in caught)
    codes = dict.fromkeys(code for _, code, _ in caught)
    yield _finding(journey, "short-delivery", Severity.CRITICAL, at, codes, people, cleared=cleared)


def _travels(journey: Journey) -> dict[str, Travel]:
    """The way back of each thing that began with this journey."""
    return {
        code: travel
        for code, state in journey.items.items()
        for travel in state.travels
        if travel.since.entry == journey.start.entry
    }


def _held_back(journey: Journey, travels: dict[str, Travel]) -> Iterator[tuple[int, str, Carried]]:
    """`(limit, item, stretch)` of everything that a party still held when its time was up."""
    stretches = [(code, each) for code, travel in travels.items() for each in travel.carried]
    deliveries = sorted(
        {(each.until, each.people) for _, each in stretches if each.delivered and each.until is not None}
    )
    for moment, people in deliveries:
        party = set(people)
        later = [when.time for when, others in deliveries if when > moment and not party.isdisjoint(others)]
        for minutes, controlled in ((CONTROLLED_MINUTES, True), (OTHER_MINUTES, False)):
            limit = moment.time + minutes * MINUTE
            if later and later[0] <= limit:
                continue
            for code, each in stretches:
                held = each.since.time <= limit and (each.until is None or each.until.time > limit)
                counts = code in journey.controlled if controlled else _must_return(journey, code, limit)
                if held and counts and not party.isdisjoint(each.people):
                    yield limit, code, each


def _must_return(journey: Journey, code: str, instant: int) -> bool:
    item = journey.register.items.get(code)
    return item is not None and journey.register.policies.at(instant).items[item.kind].returned


def _set_down(travel: Travel, limit: int) -> Moment | None:
    """When a thing that couriers held at a limit first was in no courier's hands."""
    following = {each.since for each in travel.carried}
    ends = (each.until for each in travel.carried if each.until is not None and each.until.time > limit)
    return next((until for until in ends if until not in following), None)


def _finding(
    journey: Journey,
    rule: str,
    severity: Severity,
    at: int,
    items: dict[str, Travel] | dict[str, None],
    people: set[str],
    *,
    cleared: Moment | None = None,
    **params: int,
) -> Finding:
    codes, persons = tuple(sorted(items)), tuple(sorted(people))
    return Finding(
        rule=rule,
        scope=(journey.start.entry,),
        severity=severity,
        at=at,
        election=journey.election,
        site=journey.site,
        origin=journey.place,
        entries=(journey.start.entry,),
        items=codes,
        people=persons,
        message=rule,
        params={"items": list(codes), "people": list(persons), "place": journey.place} | params,
        cleared=cleared,
        at_limit=True,
    )


def key_with_lock(act: Act) -> Iterator[Finding]:
    """A courier party holds a key set on the way back, and with it a sealed thing that it opens.

    Given by the entry that makes it so: the handoff or the find that brings them together, or the seal that goes on when
    they are.
    The scope is the first handoff of the keys to that party; parties that share a person are one party.
    """
    entry, register = act.entry, act.register
    moved: tuple[str, ...] = (entry.container,) if isinstance(entry, Pack) else ()
    if isinstance(entry, Handoff | Incident):
        moved = entry.items
    codes = act.after.with_contents((*moved, *(reading.item for reading in readings(entry))))
    keys = {each for code in codes for each in register.openers.get(code, ())}
    keys.update(code for code in codes if code in register.items and register.items[code].opens)
    for key in sorted(keys):
        first, stretch, locks = _beside_locks(act, act.after, key)
        if locks and stretch is not None and _beside_locks(act, act.was, key)[0] != first:
            yield _key_finding(act, key, first, stretch, locks)


def _beside_locks(act: Act, view: View, key: str) -> tuple[str, Carried | None, list[str]]:
    """The party's first handoff of a key set, its stretch, and the sealed things that it holds and the keys open."""
    stretch = _in_hand(view.item(key).travel)
    if stretch is None:
        return "", None, []
    party = set(stretch.people)
    locks = []
    for code in act.register.items[key].opens:
        other = _in_hand(view.item(code).travel)
        if other is not None and not party.isdisjoint(other.people) and view.is_sealed(code):
            locks.append(code)
    travel = view.item(key).travel
    if not locks or travel is None:  # a party that names nobody shares nobody, not even with itself
        return "", stretch, []
    return next(each.since.entry for each in travel.carried if not party.isdisjoint(each.people)), stretch, locks


def _in_hand(travel: Travel | None) -> Carried | None:
    """The stretch that lasts, of a thing that a courier has on the way back."""
    if travel is None or travel.carried[-1].until is not None:
        return None
    return travel.carried[-1]


def _key_finding(act: Act, key: str, first: str, stretch: Carried, locks: list[str]) -> Finding:
    finding = entry_finding(
        act,
        "key-with-lock",
        Severity.WARNING,
        items=[key, *locks],
        people=stretch.people,
        keys=key,
        locks=sorted(locks),
    )
    return replace(finding, scope=(key, first), entries=(first,))


TRANSIT_JOURNEY_RULES = (slow_transit, short_delivery)
TRANSIT_ENTRY_RULES = (key_with_lock,)
