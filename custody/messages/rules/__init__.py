"""The words of the rules: what each checks, why, and on whose authority. The one place that says it to people.

The page of a rule, the page of a finding and its filters show these words. The functions in `custody/domain/rules/` decide
what is so; their docstrings are notes for whoever changes them. One module per family, each with a `TITLE` and a table `RULES`.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib import import_module
from typing import TYPE_CHECKING

from custody.messages.rules.wording import RuleWords as RuleWords

if TYPE_CHECKING:
    from django.utils.functional import _StrPromise


FAMILIES = ("people", "custody", "seals", "place")
"""The modules of the families, in the order in which people read them."""


@cache
def list_families() -> list[tuple[_StrPromise, Mapping[str, RuleWords]]]:
    """The families of rules: what each is about, and its rules by code."""
    modules = [import_module(f"{__name__}.{name}") for name in FAMILIES]
    return [(module.TITLE, dict(sorted(module.RULES.items()))) for module in modules]


@cache
def all_rules() -> Mapping[str, RuleWords]:
    """The rules of all families in one, by code. Raises `ValueError` where two families have words for one rule."""
    merged: dict[str, RuleWords] = {}
    for _, table in list_families():
        if doubled := merged.keys() & table.keys():
            raise ValueError(f"rules with words twice: {', '.join(sorted(doubled))}")
        merged |= table
    return dict(sorted(merged.items()))
