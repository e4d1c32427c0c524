"""A container's log: what went in and out, every seal, opening and count, who signed, and what is in it now."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, cast

from custody import store
from custody.domain.book import Book
from custody.domain.entries import Count, Entry, Pack, Unpack, Unseal, ends, loose_seals, readings
from custody.domain.parties import Party
from custody.domain.recorded import Recorded
from custody.domain.register import Register
from custody.domain.states import ItemState
from custody.domain.tracks import END
from custody.domain.views import item_key
from custody.domain.vocabulary import CONTAINER_KINDS
from custody.queries.history import Standing, get_history
from custody.queries.moments import look_at
from custody.queries.outstanding import Holder

DEPTH, MOST = 8, 200
"""Levels of containers that are followed, and things in it that are shown."""
HEADLINE = ("step", "purpose", "category", "reason", "method")


@dataclass(frozen=True, slots=True, kw_only=True)
class SealLine:
    """One seal of a container as an entry tells it. `what`: `applied`, `read` or `removed`; `state` as it was found."""

    what: str
    point: str
    number: str | None
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainerEntry:
    """One entry about a container. `said` is what names it in a word: its step, purpose, category or reason.

    `into` and `out` are the things that went in or came out, `figures` what was counted, `void` seals reported with it.
    `parties` are its ends in order; `signed` the people named there whose signature is on record, `missing` the others.
    """

    entry: str
    seq: int
    at: int
    kind: str
    site: str | None
    said: Mapping[str, Any]
    into: tuple[str, ...]
    out: tuple[str, ...]
    seals: tuple[SealLine, ...]
    figures: Mapping[str, int]
    void: tuple[str, ...]
    parties: tuple[Holder, ...]
    signed: tuple[str, ...]
    missing: tuple[str, ...]

    @property
    def items(self) -> tuple[str, ...]:
        return (*self.into, *self.out)

    @property
    def people(self) -> tuple[str, ...]:
        return tuple(person for party in self.parties for person in party.people)

    @property
    def sites(self) -> tuple[str, ...]:
        return tuple(party.site for party in self.parties if party.site)


@dataclass(frozen=True, slots=True, kw_only=True)
class Nested:
    """Something in a container, with its own seals by point and what is in it in turn."""

    code: str
    seals: Mapping[str, str]
    contents: tuple[Nested, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainerLog:
    """What a container's record says. `more` things lie in it beyond those in `contents`.

    `shown_empty` and `ballots` are as the last entries left them: whether two people saw it empty since it was last used, and
    the last count.
    """

    code: str
    kind: str
    entries: tuple[ContainerEntry, ...]
    now: Standing
    contents: tuple[Nested, ...]
    more: int
    shown_empty: bool
    ballots: int | None

    @property
    def openings(self) -> int:
        """How often it was opened, as far as that is on record: by taking a seal off."""
        return sum(any(seal.what == "removed" for seal in each.seals) for each in self.entries)

    @property
    def codes(self) -> tuple[str, ...]:
        """Everything that is in it, as shown."""
        return tuple(_codes(self.contents))


def is_container(kind: str) -> bool:
    """Whether things are packed into items of this kind."""
    return kind in CONTAINER_KINDS


def get_container_log(log: store.LogHead, code: str, *, as_of: int) -> ContainerLog:
    """The log of a container up to a moment. Raises `CustodyError` as `get_history`."""
    history = get_history(log, code, as_of=as_of)
    moment = look_at(log, as_of)
    book = moment.book()
    book.prepare(each.entry for each in history.events)
    entries = [
        _entry(book.effective(each.entry), history.item, moment.register, seq=each.seq) for each in history.events
    ]
    states = _inside(book, history.item)
    state = states[history.item]
    shown = {history.item}
    contents = _nest(states, state.contents, shown)
    return ContainerLog(
        code=history.item,
        kind=history.kind,
        entries=tuple(entries),
        now=history.now,
        contents=contents,
        more=len(states) - len(shown),
        shown_empty=state.shown_empty,
        ballots=state.ballots,
    )


def _entry(recorded: Recorded, code: str, register: Register, *, seq: int) -> ContainerEntry:
    entry = recorded.entry
    signers = {register.keys[each.keyid].person for each in recorded.signatures}
    named = [person for _, party in ends(entry) for person in party.people]
    return ContainerEntry(
        entry=recorded.id,
        seq=seq,
        at=entry.at,
        kind=entry.kind,
        site=entry.site,
        said={name: getattr(entry, name) for name in HEADLINE if hasattr(entry, name)},
        into=entry.items if isinstance(entry, Pack) and entry.container == code else (),
        out=entry.items if isinstance(entry, Unpack) and entry.container == code else (),
        seals=tuple(_seals(entry, code)),
        figures={name.value: value for name, value in entry.figures.items()} if isinstance(entry, Count) else {},
        void=tuple(each.text for each in loose_seals(entry)) if entry.kind == "incident" else (),
        parties=tuple(_holder(party) for _, party in ends(entry)),
        signed=tuple(person for person in dict.fromkeys(named) if person in signers),
        missing=tuple(person for person in dict.fromkeys(named) if person not in signers),
    )


def _seals(entry: Entry, code: str) -> list[SealLine]:
    what = "removed" if isinstance(entry, Unseal) else {"seal": "applied"}.get(entry.kind, "read")
    return [
        SealLine(what=what, point=each.point, number=each.number, state=each.state.value)
        for each in readings(entry)
        if each.item == code
    ]


def _holder(party: Party) -> Holder:
    return Holder(role=party.role.value, people=party.people, site=party.site)


def _inside(book: Book, code: str) -> dict[str, ItemState]:
    """The state of a container and of everything in it, one query a level."""
    found: dict[str, ItemState] = {}
    level: Sequence[str] = [code]
    for _ in range(DEPTH):
        if not level:
            break
        book.tracks.prepare(map(item_key, level), END)
        found |= {each: cast(ItemState, book.tracks.last(item_key(each))) for each in level}
        inside = [each for outer in level for each in found[outer].contents]
        level = [each for each in dict.fromkeys(inside) if each not in found]
    return found


def _nest(states: Mapping[str, ItemState], codes: Sequence[str], shown: set[str]) -> tuple[Nested, ...]:
    """These things with what is in them, each once, no more than `MOST` in all; `shown` learns of them."""
    found = []
    for code in sorted(codes):
        if code not in states or code in shown or len(shown) > MOST:
            continue
        shown.add(code)
        seals = {point: seal.number for point, seal in sorted(states[code].seals.items())}
        found.append(Nested(code=code, seals=seals, contents=_nest(states, states[code].contents, shown)))
    return tuple(found)


def _codes(nest: Sequence[Nested]) -> list[str]:
    return [code for each in nest for code in (each.code, *_codes(each.contents))]
