"""The entries of format 1: one frozen type per kind. What each kind says is in the docstring of its type.

An entry is what somebody signed and nothing more. When it reached the log, who signed it and what later amendments made of it
is in `recorded.py`; reading and writing the bytes is in `parsing.py`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar, Literal, assert_never

from custody.domain.parties import Party, Reading, SealRange
from custody.domain.vocabulary import (
    Category,
    DisposalMethod,
    Figure,
    HoldMovement,
    Outcome,
    Passage,
    Purpose,
    StepName,
    UnsealReason,
)

End = Literal["release", "receive", "by"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """Members that every entry has. `at` is an instant as signed; codes are kept as they were written.

    `given` names the optional members that stood in the payload, so that dumping gives back the very same bytes.
    """

    kind: ClassVar[str]

    id: str
    log: str
    election: str
    at: int
    site: str | None = None
    note: str | None = None
    paper: str | None = None
    transcriber: str | None = None
    photos: tuple[str, ...] = ()
    observers: tuple[str, ...] = ()
    offset: int | None = None
    given: frozenset[str] = field(default=frozenset(), compare=False, repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Register(Header):
    """Items come on record; `by` holds what nobody held yet."""

    kind: ClassVar[str] = "register"
    items: tuple[str, ...]
    by: Party


@dataclass(frozen=True, slots=True, kw_only=True)
class Handoff(Header):
    """Items, and perhaps loose seals, pass from one party to another."""

    kind: ClassVar[str] = "handoff"
    items: tuple[str, ...]
    release: Party
    receive: Party
    purpose: Purpose
    seals: tuple[Reading, ...] = ()
    loose_seals: tuple[SealRange, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Seal(Header):
    """Seals go on; every reading is intact and shows the number that went on."""

    kind: ClassVar[str] = "seal"
    seals: tuple[Reading, ...]
    by: Party


@dataclass(frozen=True, slots=True, kw_only=True)
class Unseal(Header):
    """Seals come off, each read before it was removed."""

    kind: ClassVar[str] = "unseal"
    seals: tuple[Reading, ...]
    reason: UnsealReason
    by: Party


@dataclass(frozen=True, slots=True, kw_only=True)
class Inspect(Header):
    """Seals are read, nothing changes."""

    kind: ClassVar[str] = "inspect"
    seals: tuple[Reading, ...]
    by: Party


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack(Header):
    """Items go into a container."""

    kind: ClassVar[str] = "pack"
    container: str
    items: tuple[str, ...]
    by: Party


@dataclass(frozen=True, slots=True, kw_only=True)
class Unpack(Header):
    """Items come out of a container."""

    kind: ClassVar[str] = "unpack"
    container: str
    items: tuple[str, ...]
    by: Party


@dataclass(frozen=True, slots=True, kw_only=True)
class Count(Header):
    """Figures are read off and written down; `subject` is a site or an item."""

    kind: ClassVar[str] = "count"
    subject: str
    figures: Mapping[Figure, int]
    by: Party


@dataclass(frozen=True, slots=True, kw_only=True)
class Step(Header):
    """A step of the opening, the closing or what follows is done."""

    kind: ClassVar[str] = "step"
    step: StepName
    by: Party
    items: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Access(Header):
    """People enter or leave a storage place."""

    kind: ClassVar[str] = "access"
    movement: Passage
    purpose: str
    by: Party
    visitors: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Incident(Header):
    """Something out of the ordinary. A `found` incident makes its `by` party the holder."""

    kind: ClassVar[str] = "incident"
    items: tuple[str, ...]
    category: Category
    by: Party
    loose_seals: tuple[SealRange, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold(Header):
    """A legal order that stops disposal is placed, or lifted. No items: the whole election."""

    kind: ClassVar[str] = "hold"
    movement: HoldMovement
    items: tuple[str, ...]
    reason: str
    by: Party
    lifts: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Amend(Header):
    """Puts an earlier entry right: `replaces` holds whole new values of members, as JSON."""

    kind: ClassVar[str] = "amend"
    amends: str
    replaces: Mapping[str, Any]
    reason: str
    by: Party


@dataclass(frozen=True, slots=True, kw_only=True)
class Resolve(Header):
    """Explains and settles a finding, named by its key."""

    kind: ClassVar[str] = "resolve"
    finding: str
    outcome: Outcome
    reason: str
    by: Party


@dataclass(frozen=True, slots=True, kw_only=True)
class Dispose(Header):
    """Items are destroyed, or released from retention for use again."""

    kind: ClassVar[str] = "dispose"
    items: tuple[str, ...]
    method: DisposalMethod
    by: Party


Entry = (
    Register
    | Handoff
    | Seal
    | Unseal
    | Inspect
    | Pack
    | Unpack
    | Count
    | Step
    | Access
    | Incident
    | Hold
    | Amend
    | Resolve
    | Dispose
)

ENTRY_TYPES: tuple[type[Entry], ...] = (
    Register,
    Handoff,
    Seal,
    Unseal,
    Inspect,
    Pack,
    Unpack,
    Count,
    Step,
    Access,
    Incident,
    Hold,
    Amend,
    Resolve,
    Dispose,
)


def ends(entry: Entry) -> tuple[tuple[End, Party], ...]:
    """The parties of an entry with the name of their end: `release` and `receive` of a handoff, `by` of all others."""
    if isinstance(entry, Handoff):
        return (("release", entry.release), ("receive", entry.receive))
    return (("by", entry.by),)


def named_people(entry: Entry) -> tuple[str, ...]:
    """Everybody whom a party of the entry names, in order, once each. Observers and transcribers stand at no end."""
    return tuple(dict.fromkeys(person for _, party in ends(entry) for person in party.people))


def people_of(entry: Entry) -> frozenset[str]:
    """Everybody whom an entry names: parties, observers, the transcriber."""
    return frozenset({*named_people(entry), *entry.observers, *filter(None, [entry.transcriber])})


def readings(entry: Entry) -> tuple[Reading, ...]:
    """The seal readings of an entry, in their order."""
    if isinstance(entry, Handoff | Seal | Unseal | Inspect):
        return entry.seals
    return ()


def loose_seals(entry: Entry) -> tuple[SealRange, ...]:
    """The ranges of loose seals that an entry hands over or reports."""
    if isinstance(entry, Handoff | Incident):
        return entry.loose_seals
    return ()


def moved_items(entry: Entry) -> tuple[str, ...]:
    """The members `items` and `container` of an entry, without its readings and its subject, once each."""
    match entry:
        case Pack() | Unpack():
            codes = (entry.container, *entry.items)
        case Register() | Handoff() | Step() | Incident() | Hold() | Dispose():
            codes = entry.items
        case Seal() | Unseal() | Inspect() | Count() | Access() | Amend() | Resolve():
            codes = ()
        case _:
            assert_never(entry)
    return tuple(dict.fromkeys(codes))


def named_items(entry: Entry) -> tuple[str, ...]:
    """Every code that stands where an item may stand: moved, read, or the subject of a count; in order, once each.

    The subject of a count may be a site; whoever needs items alone asks the register.
    """
    subject = (entry.subject,) if isinstance(entry, Count) else ()
    return tuple(dict.fromkeys((*moved_items(entry), *subject, *(reading.item for reading in readings(entry)))))
