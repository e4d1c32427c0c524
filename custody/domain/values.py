"""How the values inside a payload are read: text, codes, times, words of closed lists, parties, seal readings, figures.

Every function takes a decoded JSON value and its path, as in `release.people[1]`, and gives the typed value or raises `Refused`
naming that path. Which member of which kind holds which value is said in `parsing.py`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from enum import StrEnum
from typing import Any, cast

from custody.domain.instants import parse_instant
from custody.domain.parties import Party, Reading, SealRange, parse_seal_range
from custody.domain.vocabulary import NUMBERLESS_STATES, Figure, Role, SealState
from custody.errors import Refused

UUID7 = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}", re.ASCII)
LOG_NAME = re.compile(r"[^/\s]+/[^/\s]+", re.ASCII)
SHA256 = re.compile(r"[0-9a-f]{64}", re.ASCII)

Parse = Callable[[Any, str], Any]


def wrong_type(path: str, expected: str) -> Refused:
    return Refused("wrong-type", f"{path}: expected {expected}.", path=path)


def parse_text(value: Any, path: str) -> str:
    if not isinstance(value, str):
        raise wrong_type(path, "text")
    return value


def parse_code(value: Any, path: str) -> str:
    """A code of any characters but U+0000: codes are looked up in databases, some of which end a text there."""
    if not isinstance(value, str) or not value or "\0" in value:
        raise wrong_type(path, "a code")
    return value


def parse_integer(value: Any, path: str) -> int:
    if type(value) is not int:  # a boolean is no integer here
        raise wrong_type(path, "a whole number")
    return value


def matching(pattern: re.Pattern[str], expected: str) -> Parse:
    def parse(value: Any, path: str) -> str:
        if not isinstance(value, str) or not pattern.fullmatch(value):
            raise wrong_type(path, expected)
        return value

    return parse


def parse_time(value: Any, path: str) -> int:
    try:
        return parse_instant(parse_text(value, path))
    except ValueError:
        raise wrong_type(path, "a time such as 2026-11-03T20:04:00Z") from None


def word_of(words: type[StrEnum]) -> Parse:
    by_value = {word.value: word for word in words}

    def parse(value: Any, path: str) -> StrEnum:
        word = by_value.get(parse_text(value, path))
        if word is None:
            raise Refused("unknown-word", f"{path}: {value!r} is none of {', '.join(by_value)}.", path=path)
        return word

    return parse


def list_of(parse: Parse, *, least: int = 0) -> Parse:
    def parse_list(value: Any, path: str) -> tuple[Any, ...]:
        if not isinstance(value, list):
            raise wrong_type(path, "a list")
        if len(value) < least:
            raise wrong_type(path, "a list that is not empty")
        return tuple(parse(each, f"{path}[{index}]") for index, each in enumerate(value))

    return parse_list


def parse_members(value: Any, path: str, required: frozenset[str], optional: frozenset[str]) -> Mapping[str, Any]:
    """`value` as an object that has all of `required` and nothing beyond `optional`."""
    if not isinstance(value, dict):
        raise wrong_type(path or "payload", "an object")
    prefix = f"{path}." if path else ""
    for name in sorted(required - value.keys()):
        raise Refused("missing-member", f"{prefix}{name} is missing.", path=f"{prefix}{name}")
    for name in sorted(value.keys() - required - optional):
        raise Refused("unknown-member", f"{prefix}{name} is not a member of this entry.", path=f"{prefix}{name}")
    return value


_PARTY = frozenset({"role", "people"}), frozenset({"site"})
_READING = frozenset({"item", "point", "state"}), frozenset({"number", "maker"})
_parse_role, _parse_state, parse_codes = word_of(Role), word_of(SealState), list_of(parse_code)


def parse_party(value: Any, path: str) -> Party:
    members = parse_members(value, path, *_PARTY)
    return Party(
        role=_parse_role(members["role"], f"{path}.role"),
        people=parse_codes(members["people"], f"{path}.people"),
        site=parse_code(members["site"], f"{path}.site") if "site" in members else None,
    )


def parse_reading(value: Any, path: str) -> Reading:
    members = parse_members(value, path, *_READING)
    state = _parse_state(members["state"], f"{path}.state")
    if state in NUMBERLESS_STATES:
        for name in ("number", "maker"):
            if name in members:
                raise Refused(
                    "unknown-member", f"{path}.{name}: a seal that is {state} has none.", path=f"{path}.{name}"
                )
    elif "number" not in members:
        raise Refused("missing-member", f"{path}.number is missing.", path=f"{path}.number")
    return Reading(
        item=parse_code(members["item"], f"{path}.item"),
        point=parse_code(members["point"], f"{path}.point"),
        state=state,
        **{name: parse_code(members[name], f"{path}.{name}") for name in ("number", "maker") if name in members},
    )


def parse_intact_reading(value: Any, path: str) -> Reading:
    reading = parse_reading(value, path)
    if reading.state is not SealState.INTACT:
        raise Refused("unknown-word", f"{path}.state: a seal that goes on is intact.", path=f"{path}.state")
    return reading


def parse_range(value: Any, path: str) -> SealRange:
    try:
        return parse_seal_range(parse_code(value, path))
    except ValueError as error:
        raise Refused("wrong-type", f"{path}: {error}.", path=path) from None


_parse_figure = word_of(Figure)


def parse_figures(value: Any, path: str) -> Mapping[Figure, int]:
    if not isinstance(value, dict) or not value:
        raise wrong_type(path, "at least one figure")
    return {
        cast(Figure, _parse_figure(name, f"{path}.{name}")): parse_integer(figure, f"{path}.{name}")
        for name, figure in value.items()
    }


NEVER_REPLACED = frozenset({"id", "v", "log", "kind", "election", "release", "receive", "by"})


def parse_replaces(value: Any, path: str) -> Mapping[str, Any]:
    if not isinstance(value, dict):
        raise wrong_type(path, "an object")
    for name in sorted(value.keys() & NEVER_REPLACED):
        raise Refused("unknown-member", f"{path}.{name}: this member cannot be amended.", path=f"{path}.{name}")
    return value


def dump_party(party: Party) -> dict[str, Any]:
    site = {} if party.site is None else {"site": party.site}
    return {"role": party.role.value, "people": list(party.people), **site}


def dump_reading(reading: Reading) -> dict[str, Any]:
    optional = {name: value for name in ("number", "maker") if (value := getattr(reading, name)) is not None}
    return {"item": reading.item, "point": reading.point, "state": reading.state.value, **optional}
