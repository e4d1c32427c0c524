"""The rules for people: what each checks, why and by which source, and what its findings say."""

from __future__ import annotations

import inspect
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from custody.domain.rules import ENTRY_RULES, ITEM_RULES, JOURNEY_RULES, PLACE_RULES, RULE_CODES, STOCK_RULES
from custody.messages import all_messages

Scope = Literal["entry", "journey", "place", "item", "stock"]
_TABLES = (
    ("entry", ENTRY_RULES),
    ("journey", JOURNEY_RULES),
    ("place", PLACE_RULES),
    ("item", ITEM_RULES),
    ("stock", STOCK_RULES),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleText:
    """A rule. `checks` is one sentence or two, `more` the paragraphs with limits, exceptions and sources (in English, as
    they stand at the code); `says` are the words of its findings and what to do next, in the language in force."""

    code: str
    scopes: tuple[Scope, ...]
    checks: str
    more: tuple[str, ...]
    says: tuple[tuple[str, str], ...]


def list_rules() -> list[RuleText]:
    return [_text(code) for code in RULE_CODES]


def get_rule(code: str) -> RuleText | None:
    return _text(code) if code in RULE_CODES else None


def _text(code: str) -> RuleText:
    found = [
        (scope, rule)
        for scope, rules in _TABLES
        for rule in rules
        if rule.__name__.removesuffix("_again").replace("_", "-") == code
    ]
    # Of two functions with one code the one that bears its name tells most.
    found.sort(key=lambda each: each[1].__name__.endswith("_again"))
    paragraphs = [each for _, rule in found for each in _paragraphs(rule)]
    words: Mapping[str, tuple[object, object]] = all_messages()
    says = [pair for name, pair in sorted(words.items()) if name == code or name.startswith(f"{code}.")]
    return RuleText(
        code=code,
        scopes=tuple(dict.fromkeys(scope for scope, _ in found)),  # type: ignore[misc]
        checks=paragraphs[0],
        more=tuple(paragraphs[1:]),
        says=tuple((_open(what), _open(then)) for what, then in says),
    )


def _paragraphs(rule: object) -> list[str]:
    text = inspect.getdoc(rule) or ""
    return [" ".join(each.split()) for each in re.split(r"\n\s*\n", text)]


def _open(text: object) -> str:
    """A message with gaps where a finding has its own words."""
    return re.sub(r"\{\w+\}", "…", str(text))
