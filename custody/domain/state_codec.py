"""States and findings as JSON text and back, for the derived tables. Compact, since a table holds one for every touch.

`load(dump(value)) == value` for every state type of `states.py` and for `Finding`. The form is nobody's contract: derived tables
are worked out again from the log when it changes. Members at their default are left out; named tuples become lists.
"""

from __future__ import annotations

import json
import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields, is_dataclass
from enum import StrEnum
from functools import cache, lru_cache
from typing import Any, Union, get_args, get_origin, get_type_hints

from custody.domain.states import KEY_STATES, State

Load = Callable[[Any], Any]


def dump_state(state: Any) -> str:
    """The JSON text of a state or a finding."""
    return json.dumps(_members(state), ensure_ascii=False, separators=(",", ":"))


def load_state(key: str, text: str) -> State:
    """The state that stands under a key, from its text."""
    return _load_state(key.partition(":")[0], text)


@lru_cache(maxsize=8192)
def _load_state(word: str, text: str) -> State:
    """States are values, and a place's day is read again for each of its entries: what was read is kept for the next."""
    state: State = load_dataclass(KEY_STATES[word], text)
    return state


def load_dataclass(kind: type, text: str) -> Any:
    """A value of a dataclass of the domain from its text."""
    return _loader(kind)(json.loads(text))


def _members(value: Any) -> dict[str, Any]:
    defaults = _defaults(type(value))  # type: ignore[arg-type]  # mypy: a type is hashable
    return {name: getattr(value, name) for name, default in defaults.items() if getattr(value, name) != default}


@cache
def _defaults(kind: Any) -> dict[str, Any]:
    """The fields of a dataclass with their defaults; a field without one has a default that equals nothing."""
    nothing = object()
    return {
        each.name: each.default
        if each.default is not MISSING
        else (each.default_factory() if each.default_factory is not MISSING else nothing)
        for each in fields(kind)
    }


@cache
def _loader(hint: Any) -> Load:
    """How a decoded JSON value becomes a value of a type hint."""
    origin, arguments = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        inner = _loader(next(each for each in arguments if each is not type(None)))
        return lambda value: None if value is None else inner(value)
    if origin is tuple and arguments[-1] is Ellipsis:
        each_of = _loader(arguments[0])
        return lambda value: tuple(map(each_of, value))
    if origin is tuple:
        parts = tuple(_loader(each) for each in arguments)
        return lambda value: tuple(load(each) for load, each in zip(parts, value, strict=True))
    if origin is not None and issubclass(origin, Mapping):
        return lambda value: value
    if isinstance(hint, type) and issubclass(hint, tuple) and hasattr(hint, "_fields"):
        hints = get_type_hints(hint)
        members = tuple(_loader(hints[name]) for name in hint._fields)
        return lambda value: hint(*[load(each) for load, each in zip(members, value, strict=True)])
    if isinstance(hint, type) and is_dataclass(hint):
        known = {name: _loader(each) for name, each in get_type_hints(hint).items() if name in _defaults(hint)}
        return lambda value: hint(**{name: known[name](each) for name, each in value.items()})
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return hint
    return lambda value: value
