"""A policy as a document: the JSON form that stands on record, which files and pages write as TOML.

`dump_policy` spells out every key; `parse_policy` takes a document that leaves keys out, which keep their defaults.
The two round-trip. A document is read strictly, word by word: a misspelt key that was passed over would quietly leave
a rule as it is by default, and the office would believe that it had changed it.

Not here: what a policy means, where its defaults come from (`policy.py`), and from when it is in force (`Policies`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields
from enum import StrEnum
from typing import Any, TypeVar

from custody.domain.policy import KindPolicy, LonePerson, Policy, Route, When
from custody.domain.vocabulary import ItemKind, Purpose, Role, SiteKind, StepName

W = TypeVar("W", bound=StrEnum)

_NUMBERS = {
    "people.controlled": "people_controlled",
    "people.access": "people_access",
    "tape.signers": "tape_signers",
    "travel.minutes_at_least": "travel_minutes_at_least",
    "transit.minutes_at_most": "transit_minutes_at_most",
    "late_entry.hours": "late_entry_hours",
    "clock.minutes_ahead": "clock_minutes_ahead",
    "checkins.differ_at_most": "checkins_differ_at_most",
    "read_in.hours": "read_in_hours",
    "opened.hours": "opened_hours",
    "retention.months": "retention_months",
}
_FLAGS = {"memory.stays_in": "memory_stays_in"}
_WORD_LISTS: Mapping[str, tuple[str, type[StrEnum]]] = {
    "steps.before_open": ("steps_before_open", StepName),
    "steps.after_close": ("steps_after_close", StepName),
    "resolve.roles": ("resolve_roles", Role),
}
_FREE = (Purpose.RELIEVE, Purpose.AUDIT)
"""Purposes whose route is a rule of its own (`Policy.route_fits`) and not part of the document."""


def dump_policy(policy: Policy) -> dict[str, Any]:
    """The JSON form: sections as objects, every key present, made of texts, whole numbers, booleans and lists."""
    document: dict[str, Any] = {}

    def put(key: str, value: Any) -> None:
        section, member = key.split(".")
        document.setdefault(section, {})[member] = value

    for key, name in (_NUMBERS | _FLAGS).items():
        put(key, getattr(policy, name))
    for key, (name, _words) in _WORD_LISTS.items():
        put(key, [word.value for word in getattr(policy, name)])
    put("people.steps", {step.value: number for step, number in policy.people_steps.items()})
    seal = [kind.value for kind in policy.differ_seal]
    put("people.differ_in_affiliation", {"courier": policy.differ_couriers, "seal": seal})
    put("people.exceptions", [_dump_exception(one) for one in policy.exceptions])
    for kind, row in policy.items.items():
        words = {"controlled": row.controlled.value, "sealed": row.sealed.value, "returned": row.returned}
        put(f"items.{kind.value}", words)
    for purpose, route in policy.routes.items():
        if purpose not in _FREE:
            ends = {"from": [role.value for role in route.givers], "to": [role.value for role in route.takers]}
            put(f"routes.{purpose.value}", ends)
    return document


def parse_policy(document: Mapping[str, Any]) -> Policy:
    """A policy from its JSON form; what is left out keeps its default.

    `items.<kind>`, `routes.<purpose>` and `people.differ_in_affiliation` may leave out members too; `people.steps` and
    `people.exceptions` are taken whole. Raises `ValueError` in words, naming the key at fault.
    """
    default = Policy()
    known = dump_policy(default)
    merged = _merge(known, document, "")
    values: dict[str, Any] = {}

    def take(key: str) -> Any:
        section, member = key.split(".")
        return merged[section][member]

    for key, name in _NUMBERS.items():
        values[name] = _number(key, take(key))
    for key, name in _FLAGS.items():
        values[name] = _flag(key, take(key))
    for key, (name, words) in _WORD_LISTS.items():
        values[name] = _words(key, take(key), words)
    steps = _object("people.steps", take("people.steps"))
    values["people_steps"] = {
        _word("people.steps", step, StepName): _number(f"people.steps.{step}", number) for step, number in steps.items()
    }
    key = "people.differ_in_affiliation"
    values["differ_couriers"] = _flag(f"{key}.courier", take(key)["courier"])
    values["differ_seal"] = _words(f"{key}.seal", take(key)["seal"], ItemKind)
    values["exceptions"] = tuple(map(_parse_exception, _list("people.exceptions", take("people.exceptions"))))
    values["items"] = {ItemKind(kind): _parse_kind(f"items.{kind}", row) for kind, row in merged["items"].items()}
    routes = {Purpose(word): _parse_route(f"routes.{word}", row) for word, row in merged["routes"].items()}
    values["routes"] = {**default.routes, **routes}
    assert values.keys() == {each.name for each in fields(Policy)}  # no key of a policy is forgotten here
    return Policy(**values)


def _merge(known: Mapping[str, Any], given: Any, path: str) -> dict[str, Any]:
    """The known members, each replaced by the given one; objects are merged, but for those without fixed members."""
    merged = dict(known)
    for name, value in _object(path or "the document", given).items():
        key = f"{path}.{name}" if path else name
        if name not in known:
            raise ValueError(f"policy has no key {key}")
        merges = isinstance(known[name], dict) and key != "people.steps"
        merged[name] = _merge(known[name], value, key) if merges else value
    return merged


def _object(key: str, value: Any) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise ValueError(f"policy {key}: expected a table of keys and values")
    return value


def _list(key: str, value: Any) -> list[Any]:
    if type(value) is not list:
        raise ValueError(f"policy {key}: expected a list")
    return value


def _number(key: str, value: Any) -> int:
    if type(value) is not int or not 0 <= value < 1_000_000:
        raise ValueError(f"policy {key}: expected a whole number, not negative")
    return value


def _flag(key: str, value: Any) -> bool:
    if type(value) is not bool:
        raise ValueError(f"policy {key}: expected true or false")
    return value


def _word(key: str, value: Any, words: Callable[[Any], W]) -> W:
    try:
        return words(value)
    except ValueError:
        raise ValueError(f"policy {key}: {value!r} is no word of its list") from None


def _words(key: str, value: Any, words: Callable[[Any], W]) -> tuple[W, ...]:
    return tuple(_word(key, each, words) for each in _list(key, value))


def _parse_kind(key: str, row: Mapping[str, Any]) -> KindPolicy:
    controlled, sealed = (_word(f"{key}.{name}", row[name], When) for name in ("controlled", "sealed"))
    return KindPolicy(controlled=controlled, sealed=sealed, returned=_flag(f"{key}.returned", row["returned"]))


def _parse_route(key: str, row: Mapping[str, Any]) -> Route:
    givers, takers = (_words(f"{key}.{end}", row[end], Role) for end in ("from", "to"))
    return Route(givers=givers, takers=takers)


def _dump_exception(exception: LonePerson) -> dict[str, Any]:
    kind, site_kind = exception.kind.value, exception.site_kind
    return {"kind": kind, "act": exception.act, "site_kind": site_kind, "number": exception.number}


def _parse_exception(value: Any) -> LonePerson:
    key = "people.exceptions"
    row = _object(key, value)
    if row.keys() != {"kind", "act", "site_kind", "number"}:
        raise ValueError(f"policy {key}: each has kind, act, site_kind and number")
    if type(row["act"]) is not str:
        raise ValueError(f"policy {key}.act: expected a text")
    return LonePerson(
        kind=_word(f"{key}.kind", row["kind"], ItemKind),
        act=row["act"],
        site_kind=_word(f"{key}.site_kind", row["site_kind"], SiteKind).value,
        number=_number(f"{key}.number", row["number"]),
    )
