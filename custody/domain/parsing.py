"""From the members of a payload to a typed entry and back: `parse_entry` and `dump_entry` round-trip.

The form is strict and refuses; the content is free. A person, an item or a seal that nobody knows is well formed, and is
recorded: whether it is right is for the rules. What is well formed is said once, in the two tables `HEADER` and `MEMBERS`.

Not here: whether the bytes are canonical (`ledger.canonical`), who signed them (`ledger.envelope`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from custody.domain import entries
from custody.domain.entries import ENTRY_TYPES, Entry
from custody.domain.instants import dump_instant
from custody.domain.values import (
    LOG_NAME,
    SHA256,
    UUID7,
    Parse,
    dump_party,
    dump_reading,
    list_of,
    matching,
    parse_code,
    parse_codes,
    parse_figures,
    parse_intact_reading,
    parse_integer,
    parse_members,
    parse_party,
    parse_range,
    parse_reading,
    parse_replaces,
    parse_text,
    parse_time,
    word_of,
    wrong_type,
)
from custody.domain.vocabulary import (
    Category,
    DisposalMethod,
    HoldMovement,
    Outcome,
    Passage,
    Purpose,
    StepName,
    UnsealReason,
)
from custody.errors import Refused

Dump = Callable[[Any], Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """How one member is read and written, and whether an entry may go without it."""

    parse: Parse
    dump: Dump
    optional: bool = False


def _member(parse: Parse, dump: Dump = lambda value: value, *, optional: bool = False) -> Member:
    return Member(parse=parse, dump=dump, optional=optional)


def _word_member(words: type[StrEnum]) -> Member:
    return _member(word_of(words), lambda word: word.value)


def _readings(*, least: int, parse: Parse = parse_reading) -> Member:
    return _member(
        list_of(parse, least=least), lambda seals: [dump_reading(each) for each in seals], optional=not least
    )


_UUID = _member(matching(UUID7, "a UUIDv7 in lower case"))
_TEXT, _BY = _member(parse_text), _member(parse_party, dump_party)
_SOME_ITEMS = _member(list_of(parse_code, least=1), list)
_ANY_ITEMS = _member(parse_codes, list)
_OPTIONAL_CODES = _member(parse_codes, list, optional=True)
_LOOSE = _member(list_of(parse_range), lambda ranges: [each.text for each in ranges], optional=True)

HEADER: dict[str, Member] = {
    "id": _UUID,
    "log": _member(matching(LOG_NAME, "a log such as ALDER/main")),
    "election": _member(parse_code),
    "at": _member(parse_time, dump_instant),
    "site": _member(parse_code, optional=True),
    "note": _member(parse_text, optional=True),
    "paper": _member(parse_code, optional=True),
    "transcriber": _member(parse_code, optional=True),
    "photos": _member(list_of(matching(SHA256, "the SHA-256 of an image in lower-case hex")), list, optional=True),
    "observers": _OPTIONAL_CODES,
    "offset": _member(parse_integer, optional=True),
}

MEMBERS: dict[str, dict[str, Member]] = {
    "register": {"items": _SOME_ITEMS, "by": _BY},
    "handoff": {
        "items": _ANY_ITEMS,
        "release": _BY,
        "receive": _BY,
        "purpose": _word_member(Purpose),
        "seals": _readings(least=0),
        "loose_seals": _LOOSE,
    },
    "seal": {"seals": _readings(least=1, parse=parse_intact_reading), "by": _BY},
    "unseal": {"seals": _readings(least=1), "reason": _word_member(UnsealReason), "by": _BY},
    "inspect": {"seals": _readings(least=1), "by": _BY},
    "pack": {"container": _member(parse_code), "items": _SOME_ITEMS, "by": _BY},
    "unpack": {"container": _member(parse_code), "items": _SOME_ITEMS, "by": _BY},
    "count": {
        "subject": _member(parse_code),
        "figures": _member(parse_figures, lambda figures: {name.value: figure for name, figure in figures.items()}),
        "by": _BY,
    },
    "step": {"step": _word_member(StepName), "by": _BY, "items": _OPTIONAL_CODES},
    "access": {"movement": _word_member(Passage), "purpose": _TEXT, "by": _BY, "visitors": _OPTIONAL_CODES},
    "incident": {"items": _ANY_ITEMS, "category": _word_member(Category), "by": _BY, "loose_seals": _LOOSE},
    "hold": {
        "movement": _word_member(HoldMovement),
        "items": _ANY_ITEMS,
        "reason": _TEXT,
        "by": _BY,
        "lifts": _member(_UUID.parse, optional=True),
    },
    "amend": {"amends": _UUID, "replaces": _member(parse_replaces, dict), "reason": _TEXT, "by": _BY},
    "resolve": {"finding": _member(parse_code), "outcome": _word_member(Outcome), "reason": _TEXT, "by": _BY},
    "dispose": {"items": _SOME_ITEMS, "method": _word_member(DisposalMethod), "by": _BY},
}

_TYPES: dict[str, type[Entry]] = {entry_type.kind: entry_type for entry_type in ENTRY_TYPES}
_FORMS: dict[str, tuple[dict[str, Member], frozenset[str], frozenset[str]]] = {
    kind: (
        HEADER | members,
        frozenset({"v", "kind"} | {name for name, member in (HEADER | members).items() if not member.optional}),
        frozenset(name for name, member in (HEADER | members).items() if member.optional),
    )
    for kind, members in MEMBERS.items()
}


def optional_members(kind: str) -> frozenset[str]:
    """The members that an entry of this kind may leave out."""
    return _FORMS[kind][2]


def parse_entry(payload: Mapping[str, Any]) -> Entry:
    """The typed entry that a payload's members say. Raises `Refused` with code and path; never changes `payload`.

    Codes: `missing-member`, `unknown-member`, `wrong-type`, `unknown-word`.
    """
    if not isinstance(payload, dict):
        raise wrong_type("payload", "an object")
    if "kind" not in payload:
        raise Refused("missing-member", "kind is missing.", path="kind")
    kind = payload["kind"]
    if parse_text(kind, "kind") not in _FORMS:
        raise Refused("unknown-word", f"kind: {kind!r} is none of {', '.join(_FORMS)}.", path="kind")
    forms, required, optional = _FORMS[kind]
    members = parse_members(payload, "", required, optional)
    if type(members["v"]) is not int or members["v"] != 1:
        raise wrong_type("v", "1, the version of the format")
    values = {name: forms[name].parse(value, name) for name, value in members.items() if name in forms}
    entry = _TYPES[kind](**values, given=optional & members.keys())
    _check_together(entry)
    return entry


def _check_together(entry: Entry) -> None:
    """What no member can say by itself: pairs that go together, and a handoff of nothing."""
    for one, other in (("paper", "transcriber"), ("transcriber", "paper")):
        if getattr(entry, one) is not None and getattr(entry, other) is None:
            raise Refused("missing-member", f"{other} is missing: {one} goes with it.", path=other)
    match entry:
        case entries.Handoff(items=(), loose_seals=()):
            raise wrong_type("items", "at least one item, or loose seals")
        case entries.Hold(movement=HoldMovement.LIFT, lifts=None):
            raise Refused("missing-member", "lifts is missing: it names the order that is lifted.", path="lifts")
        case entries.Hold(movement=HoldMovement.PLACE, lifts=str()):
            raise Refused("unknown-member", "lifts: an order that is placed lifts nothing.", path="lifts")


def dump_entry(entry: Entry) -> dict[str, Any]:
    """The members of a payload, ready for `ledger.canonical`: the inverse of `parse_entry`."""
    forms, required, _ = _FORMS[entry.kind]
    payload: dict[str, Any] = {"v": 1, "kind": entry.kind}
    for name, member in forms.items():
        value = getattr(entry, name)
        if name in required or name in entry.given or (value is not None and value != ()):
            payload[name] = member.dump(value)
    return payload
