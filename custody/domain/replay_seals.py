"""The replay of seals: what a reading, a sealing and an unsealing leave at a seal point.

A point has no seal or one number in place. After a mismatch the number that was read is the one in place, and after a
`missing` one none is, so that one swap gives one finding. A reading that returns to the number in place before the last
mismatch or `missing`, with no seal or unseal entry between, shows that it was misread: it clears that finding and restores
what was there. A matching number is a match and no more: it never proves that nothing was opened.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from custody.domain.acts import Act, PointRead
from custody.domain.entries import Seal, Unseal, readings
from custody.domain.findings import finding_key
from custody.domain.parties import Reading
from custody.domain.register import Register
from custody.domain.states import Application, Point, SealOn
from custody.domain.views import number_key
from custody.domain.vocabulary import SealState


def same_seal(register: Register, seal: SealOn | None, number: str | None, maker: str | None) -> bool:
    """Whether a number as read is the seal in place. Makers are compared only where both are known."""
    if seal is None or seal.number != number:
        return False
    read_maker, seal_maker = register.maker_of(number, maker), register.maker_of(seal.number, seal.maker)
    return None in (read_maker, seal_maker) or read_maker == seal_maker


def _shows(register: Register, point: Point, reading: Reading) -> bool:
    """Whether a reading agrees with the record at a point: the same number, or missing where no seal is."""
    if reading.state is SealState.UNREADABLE:
        return point.seal is not None
    if reading.state is SealState.MISSING:
        return point.seal is None
    return same_seal(register, point.seal, reading.number, reading.maker)


def _counted(register: Register, point: Point, listed: list[Reading]) -> Reading:
    """Of several readings of one point the one that equals the record, else the last listed."""
    return next((each for each in listed if _shows(register, point, each)), listed[-1])


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
    register, entry = act.register, act.entry
    before = act.found.item(item).point(name)
    reading = _counted(register, before, listed)
    differ = len({each.number for each in listed if each.state is not SealState.UNREADABLE}) > 1
    restored = reading.number is not None and same_seal(register, before.doubted, reading.number, reading.maker)
    matches = _shows(register, before, reading)
    cleared = ""
    if restored and not matches:
        cleared, after = before.doubt, Point(seal=before.doubted)
        act.found.put_item(item, act.found.item(item).with_point(name, after))
        mismatch = differ
    elif reading.state is SealState.MISSING:
        mismatch = differ
        after = before
        if before.seal is not None:
            doubt = finding_key("seal-not-intact", item, name, before.seal.number, SealState.MISSING.value)
            after = Point(doubted=before.seal, doubt=doubt)
    elif matches or reading.state is SealState.UNREADABLE:
        mismatch, after = differ, before
    else:
        mismatch = True
        number = reading.number or ""
        seal = SealOn(
            number=number,
            maker=register.maker_of(number, reading.maker),
            since=act.moment,
            site=entry.site,
            election=entry.election,
        )
        doubt = finding_key("seal-mismatch", act.recorded.id, item, name)
        after = Point(seal=seal, doubted=before.seal, doubt=doubt if before.seal else "")
    act.after.put_item(item, act.after.item(item).with_point(name, after))
    if mismatch:
        _note_numbers(act, listed)
    act.reads.append(
        PointRead(
            item=item,
            point=name,
            expected=before.seal.number if before.seal else None,
            number=reading.number,
            mismatch=mismatch,
            cleared=cleared,
            faults=_faults(before, after, listed, reading),
        )
    )


def _faults(before: Point, after: Point, listed: Iterable[Reading], counted: Reading) -> tuple[tuple[str, str], ...]:
    """`(number, state)` of what was not as a seal should be: only where the record has a seal in place."""
    faults = []
    for reading in listed:
        if reading.state is SealState.INTACT or reading.number != counted.number:
            continue
        seal = before.seal if reading.state is SealState.MISSING else after.seal
        if seal is not None:
            faults.append((seal.number, reading.state.value))
    return tuple(dict.fromkeys(faults))


def _note_numbers(act: Act, listed: Iterable[Reading]) -> None:
    """A number read where the record had another is accounted for, wherever it came from."""
    for reading in listed:
        if reading.number is not None:
            state = act.after.number(reading.number)
            if state.read is None:
                act.after.put(number_key(reading.number), replace(state, read=act.moment))


def apply_seals(act: Act, entry: Seal) -> None:
    """Seals go on. The same number again at a point where it is in place counts as a reading of it."""
    for reading in entry.seals:
        state = act.after.item(reading.item)
        in_place = state.point(reading.point).seal
        number = reading.number or ""
        state = replace(state, shown_empty=False)
        if same_seal(act.register, in_place, number, reading.maker):
            act.after.put_item(reading.item, state)
            continue
        if in_place is not None:
            act.over.append((reading.item, reading.point, in_place.number))
        maker = act.register.maker_of(number, reading.maker)
        seal = SealOn(number=number, maker=maker, since=act.moment, site=entry.site, election=entry.election)
        act.after.put_item(reading.item, state.with_point(reading.point, Point(seal=seal)))
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
