"""The history of one item: every entry that named it or what it was in, and how it stood after each."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, cast

from custody import store
from custody.domain.book import Book
from custody.domain.entries import named_items
from custody.domain.instants import dump_instant
from custody.domain.labels import read_code
from custody.domain.recorded import Position
from custody.domain.states import ItemState, State
from custody.domain.tracks import BEGINNING
from custody.domain.views import View, item_key
from custody.errors import CustodyError
from custody.models.derived import Version
from custody.queries.moments import Advance, Moment, last_time, look_at
from custody.queries.outstanding import Holder, holder_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How an item stands: its holder as named on record, where that is, in what, and its own seals in place by point.

    `site` is the holder's; of an item that nobody is on record to hold, that of the last entry about it; `None` on the road.
    """

    holder: Holder | None
    site: str | None
    container: str | None
    seals: Mapping[str, str]

    def as_json(self) -> dict[str, Any]:
        """`holder` is left out when nobody is on record; `site` and `container` are null when there is none."""
        held = {} if self.holder is None else {"holder": self.holder.as_json()}
        return {**held, "site": self.site, "container": self.container, "seals": dict(self.seals)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One entry about an item and how the item stood after it; `site` is where the entry was made, `at` as amended."""

    entry: str
    seq: int
    at: int
    received: int
    kind: str
    site: str | None
    after: Standing

    def as_json(self) -> dict[str, Any]:
        return {
            "entry": self.entry,
            "seq": self.seq,
            "at": dump_instant(self.at),
            "received": dump_instant(self.received),
            "kind": self.kind,
            **self.after.as_json(),
            "site": self.site,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """An item's events in custody order, and how it stands after the last of them. `kind` is empty for one not on register."""

    item: str
    kind: str
    events: tuple[Event, ...]
    now: Standing

    def as_json(self) -> dict[str, Any]:
        """The history as outside programs know it."""
        return {"item": self.item, "events": [each.as_json() for each in self.events], "now": self.now.as_json()}


def get_history(
    log: store.LogHead, item: str, *, as_of: int | None = None, advance: Advance = lambda _: None
) -> History:
    """The history of an item, given by code, forgivingly read, or by asset tag; up to `as_of`, else all on record.

    Raises `CustodyError`: `no-item` when neither the register nor the record knows it, `which-item` for a tag of several.
    """
    moment = look_at(log, _end(log) if as_of is None else as_of, advance)
    code = find_item(moment, item)
    book = moment.book()
    touched = _load(book, code)
    book.prepare(position[1] for position, _ in touched)
    events = [event for position, _ in touched if (event := _event(book, code, position)) is not None]
    known = moment.register.items.get(code)
    last_site = next((event.site for event in reversed(events)), None)
    return History(
        item=code,
        kind=known.kind.value if known else "",
        events=tuple(events),
        now=_standing(_world(book, book.tracks.last), code, last_site),
    )


def _end(log: store.LogHead) -> int:
    return last_time(log) or 0


def find_item(moment: Moment, text: str) -> str:
    """The code that was meant. Raises as `get_history`."""
    text = text.strip()
    items = moment.register.items
    if text in items:
        return text
    tagged = sorted(code for code, item in items.items() if item.tag == text) if text else []
    if len(tagged) > 1:
        raise CustodyError("which-item", f"Several items have the tag {text}: {', '.join(tagged)}.", items=tagged)
    if tagged:
        return tagged[0]
    candidates = [text]
    with suppress(ValueError):
        candidates.insert(0, read_code(text))
    for code in candidates:
        if code in items or _is_on_record(moment, code):
            return code
    raise CustodyError("no-item", f"There is no item {text}: neither the register nor the record has it.", item=text)


def _is_on_record(moment: Moment, code: str) -> bool:
    if moment.past is not None:
        return bool(moment.past.tracks.all(item_key(code)))
    return Version.objects.filter(log_id=moment.log.id, key=item_key(code)).exists()


def _load(book: Book, code: str) -> list[tuple[Position, State]]:
    """Everything that touched an item, once the tracks of all that was ever around it are loaded too."""
    known: set[str] = set()
    wanted = {code}
    while wanted:
        book.tracks.prepare(map(item_key, sorted(wanted)), BEGINNING)
        known |= wanted
        states = [cast(ItemState, state) for each in wanted for _, state in book.tracks.all(item_key(each))]
        wanted = {state.container for state in states if state.container is not None} - known
    return book.tracks.all(item_key(code))


def _world(book: Book, read: Callable[[str], State]) -> View:
    return View(read, book.register, book.register.policies.at(0))  # nothing that policy says is asked of it


def _event(book: Book, code: str, position: Position) -> Event | None:
    """What an entry was to an item; `None` when it named neither the item nor anything around it."""
    recorded = book.effective(position[1])
    named = set(named_items(recorded.entry))
    after_it = (position[0], position[1] + "~")

    def before(key: str) -> State:
        return book.tracks.before(key, position)

    def after(key: str) -> State:
        return book.tracks.before(key, after_it)

    then, now = _world(book, before), _world(book, after)
    if not named.intersection((code, *then.around(code), *now.around(code))):
        return None
    return Event(
        entry=recorded.id,
        seq=recorded.seq,
        at=recorded.entry.at,
        received=recorded.received,
        kind=recorded.entry.kind,
        site=recorded.entry.site,
        after=_standing(now, code, recorded.entry.site),
    )


def _standing(world: View, code: str, last_site: str | None) -> Standing:
    state = world.item(code)
    holder = holder_of(world.holding(code))
    return Standing(
        holder=holder,
        site=holder.site if holder else last_site,
        container=state.container,
        seals={point: seal.number for point, seal in sorted(state.seals.items())},
    )
