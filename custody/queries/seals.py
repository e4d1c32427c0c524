"""The history of one seal number: its lots, where it was issued, put on, read and taken off, and whether it was reported void."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, cast

from custody import store
from custody.domain.book import Book
from custody.domain.entries import Entry, Handoff, Incident, Seal, Unseal, ends, loose_seals, readings
from custody.domain.instants import dump_instant
from custody.domain.parties import Reading, SealRange, split_number
from custody.domain.recorded import Position, Recorded
from custody.domain.register import SealLot
from custody.domain.seal_states import NumberState
from custody.domain.states import ItemState
from custody.domain.tracks import BEGINNING
from custody.domain.views import item_key, loose_keys, number_key
from custody.domain.vocabulary import Category
from custody.queries.moments import Advance, look_at
from custody.queries.outstanding import Holder


@dataclass(frozen=True, slots=True, kw_only=True)
class SealEvent:
    """One thing that an entry says of a seal; `item`, `point`, `state` and `maker` stand where seals are read.

    `what`: `handed_over` (loose, to `holder`), `applied`, `read`, `replaced` (another was put on at its point),
    `removed` or `void`. `by` did it, of a handoff whoever received; `read_as` is the number that was read where it is
    another than this one.
    """

    what: str
    entry: str
    seq: int
    at: int
    received: int
    kind: str
    site: str | None
    item: str | None = None
    point: str | None = None
    state: str | None = None
    maker: str | None = None
    holder: Holder | None = None
    by: Holder | None = None
    read_as: str | None = None

    def as_json(self) -> dict[str, Any]:
        """Members that have no value are left out, but for `site`, which is null on the road."""
        holder = self.holder.as_json() if self.holder else None
        optional = {
            "item": self.item,
            "point": self.point,
            "state": self.state,
            "maker": self.maker,
            "holder": holder,
        }
        return {
            "what": self.what,
            "entry": self.entry,
            "seq": self.seq,
            "at": dump_instant(self.at),
            "received": dump_instant(self.received),
            "kind": self.kind,
            "site": self.site,
            **{name: value for name, value in optional.items() if value is not None},
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class SealHistory:
    """What register and record know of a seal number. `in_place` lists the items and points where it is now."""

    number: str
    lots: tuple[SealLot, ...]
    events: tuple[SealEvent, ...]
    in_place: tuple[tuple[str, str], ...]

    def as_json(self) -> dict[str, Any]:
        return {
            "number": self.number,
            "lots": [_lot_json(lot) for lot in self.lots],
            "events": [each.as_json() for each in self.events],
            "now": [{"item": item, "point": point} for item, point in self.in_place],
        }


def _lot_json(lot: SealLot) -> dict[str, Any]:
    optional = {"class": lot.seal_class, "issued_to": lot.issued_to, "election": lot.election}
    return {
        "maker": lot.maker,
        "lot": lot.lot,
        "seals": lot.seals.text,
        **{name: value for name, value in optional.items() if value},
    }


def get_seal_history(log: store.LogHead, number: str, *, now: int, advance: Advance = lambda _: None) -> SealHistory:
    """Everything about one number, up to `now`, in custody order. A number that nobody knows has an empty history."""
    number = number.strip()
    moment = look_at(log, now, advance)
    book = moment.book()
    items = _items(book, number)
    positions = {position for code in items for position, _ in book.tracks.all(item_key(code))}
    positions |= {position for key in (number_key(number), *_loose(number)) for position, _ in book.tracks.all(key)}
    book.prepare(position[1] for position in sorted(positions))
    events: list[SealEvent] = []
    for position in sorted(positions):
        events += _events(book, number, position, book.effective(position[1]))
    return SealHistory(
        number=number,
        lots=tuple(sorted(moment.register.lots_with(number), key=lambda lot: (lot.maker, lot.lot, lot.seals.first))),
        events=tuple(events),
        in_place=tuple(
            (code, point)
            for code in items
            for point, seal in sorted(cast(ItemState, book.tracks.last(item_key(code))).seals.items())
            if seal.number == number
        ),
    )


def _items(book: Book, number: str) -> list[str]:
    """The items that a number was ever put on or read at; their tracks are loaded."""
    touched = [cast(NumberState, state) for _, state in book.tracks.all(number_key(number))]
    items = sorted({item for state in touched for item in _seen_at(state)})
    book.tracks.prepare([*map(item_key, items), *_loose(number)], BEGINNING)
    return items


def _seen_at(state: NumberState) -> list[str]:
    return [each.item for each in state.applied] + [each.item for each in state.read]


def _loose(number: str) -> list[str]:
    prefix, value, width = split_number(number)
    return loose_keys(SealRange(text=number, prefix=prefix, first=value, last=value, width=width))


def _events(book: Book, number: str, position: Position, recorded: Recorded) -> Iterator[SealEvent]:
    """What one entry says of a number. A reading that could not be read is one of it where the record has it in place."""
    entry = recorded.entry
    event = SealEvent(
        what="read",
        entry=recorded.id,
        seq=recorded.seq,
        at=entry.at,
        received=recorded.received,
        kind=entry.kind,
        site=entry.site,
        by=_by(entry),
    )
    for reading in readings(entry):
        before = cast(ItemState, book.tracks.before(item_key(reading.item), position)).point(reading.point).seal
        was_here = before is not None and before.number == number
        if reading.number == number or was_here:
            yield replace(
                event,
                what=_what(entry, reading, number, was_here=was_here),
                item=reading.item,
                point=reading.point,
                state=reading.state.value,
                maker=reading.maker,
                read_as=None if reading.number == number else reading.number,
            )
    if not any(number in seals for seals in loose_seals(entry)):
        return
    if isinstance(entry, Handoff):
        yield replace(event, what="handed_over", holder=event.by)
    elif isinstance(entry, Incident) and entry.category is Category.SEAL_VOID:
        yield replace(event, what="void")


def _by(entry: Entry) -> Holder:
    """The party that answers for what an entry says: of a handoff that which received."""
    _, party = ends(entry)[-1]
    return Holder(role=party.role.value, people=party.people, site=party.site)


def _what(entry: Entry, reading: Reading, number: str, *, was_here: bool) -> str:
    if isinstance(entry, Unseal):
        return "removed"
    if isinstance(entry, Seal) and reading.number != number:
        return "replaced"
    return "applied" if isinstance(entry, Seal) and not was_here else "read"
