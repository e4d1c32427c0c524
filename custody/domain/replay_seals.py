"""The replay of seals: what a reading, a sealing and an unsealing leave at a seal point.

A point has no seal or one number in place. After a mismatch the number that was read is the one in place, and after a
`missing` one none is, so that one swap gives one finding. A reading that returns to the number in place before the last
mismatch or `missing`, with no seal or unseal entry between, shows that it was misread: it clears that finding and
restores what was there, also in what is known of the item's departure and receipt since. The clearing is kept beside
what was said to settle the finding, and lasts as long as the entry that did it says so. When one misreading follows
another, they are undone in turn. A matching number is a match and no more: it never proves that nothing was opened.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from custody.domain.acts import Act, PointRead
from custody.domain.entries import Seal, Unseal, readings
from custody.domain.findings import finding_key
from custody.domain.parties import Reading
from custody.domain.recorded import Moment
from custody.domain.register import Register
from custody.domain.seal_states import Application, Doubt, NumberRead, Point, SealOn
from custody.domain.states import SettlementState
from custody.domain.views import number_key, settlement_key
from custody.domain.vocabulary import SealState


def same_seal(register: Register, seal: SealOn | None, number: str | None, maker: str | None) -> bool:
    """Whether a number as read is the seal in place. Makers are compared only where both are known."""
    if seal is None or seal.number != number:
        return False
    read_maker, seal_maker = register.maker_of(number, maker), register.maker_of(seal.number, seal.maker)
    return None in (read_maker, seal_maker) or read_maker == seal_maker


def _shows(register: Register, seal: SealOn | None, reading: Reading) -> bool:
    """Whether a reading equals the record at a point: the same number, or missing where no seal is."""
    if reading.state is SealState.MISSING:
        return seal is None
    return same_seal(register, seal, reading.number, reading.maker)


def _agree(register: Register, one: Reading, other: Reading) -> bool:
    """Whether two readings of a point can both be right. An unreadable number contradicts a missing seal alone."""
    if SealState.MISSING in (one.state, other.state):
        return one.state is other.state
    if one.number is None or other.number is None:
        return True
    makers = {register.maker_of(each.number or "", each.maker) for each in (one, other)}
    return one.number == other.number and (None in makers or len(makers) == 1)


def _counted(register: Register, seal: SealOn | None, listed: list[Reading]) -> Reading:
    """Of several readings of one point the one that equals the record, else the last that shows anything at all."""
    telling = [each for each in listed if each.state is not SealState.UNREADABLE] or listed
    return next((each for each in telling if _shows(register, seal, each)), telling[-1])


def read_seals(act: Act) -> None:
    """Apply the readings of a handoff, unseal or inspect, point by point; what they restore goes into `found`."""
    if isinstance(act.entry, Seal):
        return
    listed: dict[tuple[str, str], list[Reading]] = {}
    for reading in readings(act.entry):
        listed.setdefault((reading.item, reading.point), []).append(reading)
    for (item, point), of_point in listed.items():
        _read_point(act, item, point, of_point)


def _read_point(act: Act, item: str, name: str, listed: list[Reading]) -> None:
    register = act.register
    before = act.found.item(item).point(name)
    reading = _counted(register, before.seal, listed)
    cleared: tuple[str, ...] = ()
    if (doubt := _returns(register, before, reading)) is not None:
        cleared = doubt.findings
        _clear(act, item, name, doubt)
        before = Point(seal=doubt.seal, doubts=before.doubts[:-1])
        act.found.put_item(item, act.found.item(item).with_point(name, before))
    other = reading.number is not None and not _shows(register, before.seal, reading)
    mismatch = other or any(not _agree(register, each, reading) for each in listed)
    gone = reading.state is SealState.MISSING and before.seal is not None
    numbers = tuple(dict.fromkeys(each.number for each in listed if each.number is not None))
    after = before
    if mismatch or gone:
        doubted = Doubt(
            seal=before.seal,
            since=act.moment,
            findings=_doubts(act, item, name, before.seal, mismatch=mismatch, gone=gone),
            numbers=numbers if mismatch else (),
        )
        seal = None if gone else _seal_read(act, reading) if other else before.seal
        after = Point(seal=seal, doubts=(*before.doubts, doubted))
    act.after.put_item(item, act.after.item(item).with_point(name, after))
    if mismatch:
        _note_numbers(act, item, name, numbers)
    act.reads.append(
        PointRead(
            item=item,
            point=name,
            expected=before.seal.number if before.seal else None,
            numbers=numbers,
            number=reading.number,
            mismatch=mismatch,
            cleared=cleared,
            faults=_faults(register, before, after, listed, reading),
        )
    )


def _returns(register: Register, point: Point, reading: Reading) -> Doubt | None:
    """The doubt that a reading settles: it shows the seal that was in place before the last mismatch or `missing`.

    Where two readings differed and the record's counted, that seal is in place still: reading it once more says which
    of the two was wrong.
    """
    if reading.number is None or not point.doubts:
        return None
    doubt = point.doubts[-1]
    if not same_seal(register, doubt.seal, reading.number, reading.maker):
        return None
    return None if point.seal != doubt.seal and _shows(register, point.seal, reading) else doubt


def _doubts(act: Act, item: str, name: str, seal: SealOn | None, *, mismatch: bool, gone: bool) -> tuple[str, ...]:
    """The keys of the findings that this reading gives and a later one may clear; none where no seal was in place.

    Two entries may find the same seal missing, the first of them by mistake: a key that is given again is not cleared.
    """
    keys = []
    if gone and seal is not None:
        key = finding_key("seal-not-intact", item, name, seal.number, SealState.MISSING.value)
        _settle(act, key, cleared=None)
        keys.append(key)
    if mismatch and seal is not None:
        keys.append(finding_key("seal-mismatch", act.recorded.id, item, name))
    return tuple(keys)


def _settle(act: Act, key: str, *, cleared: Moment | None) -> None:
    state = act.after.get(settlement_key(key))
    assert isinstance(state, SettlementState)
    act.after.put(settlement_key(key), replace(state, cleared=cleared))


def _clear(act: Act, item: str, name: str, doubt: Doubt) -> None:
    """Undo what a wrong reading did: to findings, to the numbers it showed, to the seals of journeys since."""
    for key in doubt.findings:
        _settle(act, key, cleared=act.moment)
    for number in doubt.numbers:
        known = act.after.number(number)
        wrong = NumberRead(since=doubt.since, item=item, point=name)
        kept = tuple(each for each in known.read if each != wrong)
        act.after.put(number_key(number), replace(known, read=kept))
    state = act.after.item(item)
    read, restored = state.point(name).seal, doubt.seal

    def put_right(seals: tuple[SealOn, ...]) -> tuple[SealOn, ...]:
        others = tuple(each for each in seals if each not in (read, restored))
        return others if restored is None else (*others, restored)

    act.after.put_item(
        item,
        replace(
            state,
            departures=tuple(
                each._replace(seals=put_right(each.seals)) if each.by >= doubt.since else each
                for each in state.departures
            ),
            receipts=tuple(
                each._replace(seals=put_right(each.seals)) if each.by >= doubt.since else each
                for each in state.receipts
            ),
        ),
    )


def _seal_read(act: Act, reading: Reading) -> SealOn:
    """The seal that a mismatch puts on record: nobody saw it put on, so it is there since this entry."""
    number = reading.number or ""
    return SealOn(
        number=number,
        maker=act.register.maker_of(number, reading.maker),
        since=act.moment,
        site=act.entry.site,
        election=act.entry.election,
    )


def _faults(
    register: Register, before: Point, after: Point, listed: Iterable[Reading], counted: Reading
) -> tuple[tuple[str, str], ...]:
    """`(number, state)` of what was not as a seal should be: only where the record has a seal in place."""
    faults = []
    for reading in listed:
        if reading.state is SealState.INTACT or not _agree(register, reading, counted):
            continue
        seal = before.seal if reading.state is SealState.MISSING else after.seal
        if seal is not None:
            faults.append((seal.number, reading.state.value))
    return tuple(dict.fromkeys(faults))


def _note_numbers(act: Act, item: str, name: str, numbers: Iterable[str]) -> None:
    """A number read where the record had another is accounted for, wherever it came from."""
    for number in numbers:
        known = act.after.number(number)
        seen = NumberRead(since=act.moment, item=item, point=name)
        act.after.put(number_key(number), replace(known, read=(*known.read, seen)))


def apply_seals(act: Act, entry: Seal) -> None:
    """Seals go on. The same number again at a point where it is in place counts as a reading of it.

    Whatever was doubted at the point before is doubted no more: from now on this number is the one.
    """
    for reading in entry.seals:
        point = act.after.item(reading.item).point(reading.point)
        number = reading.number or ""
        maker = act.register.maker_of(number, reading.maker)
        seal = SealOn(number=number, maker=maker, since=act.moment, site=entry.site, election=entry.election)
        if point.seal is not None and same_seal(act.register, point.seal, number, reading.maker):
            if (doubt := _returns(act.register, point, reading)) is not None:
                _clear(act, reading.item, reading.point, doubt)
            seal = point.seal
        else:
            _put_on(act, reading, maker, over=point.seal)
        state = replace(act.after.item(reading.item), shown_empty=False)
        act.after.put_item(reading.item, state.with_point(reading.point, Point(seal=seal)))


def _put_on(act: Act, reading: Reading, maker: str | None, *, over: SealOn | None) -> None:
    number = reading.number or ""
    if over is not None:
        act.over.append((reading.item, reading.point, over.number))
    act.put_on.append((reading.item, reading.point, number, maker))
    known = act.after.number(number)
    application = Application(since=act.moment, maker=maker, item=reading.item, point=reading.point)
    act.after.put(number_key(number), replace(known, applied=(*known.applied, application)))


def remove_seals(act: Act, entry: Unseal) -> None:
    """Seals come off, after they were read."""
    for item in dict.fromkeys(reading.item for reading in entry.seals):
        state = act.after.item(item)
        for reading in entry.seals:
            if reading.item == item:
                state = state.with_point(reading.point, Point())
        act.after.put_item(item, replace(state, in_use=True, shown_empty=False))


def open_points(act: Act, item: str) -> bool:
    """Whether a point of an item is open after the entry, by the register or, for unknown items, as far as seen."""
    known = act.register.items.get(item)
    state = act.after.item(item)
    points = known.seal_points if known else tuple(name for name, _ in state.points)
    return any(point not in state.seals for point in points)
