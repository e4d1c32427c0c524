"""The words of findings, in plain language and marked for translation. The domain carries message ids; here is the text.

One module per family of rules, each with a table `MESSAGES`: message id to (what is so, what to do next). The id is the
code of the rule, or `code.variant`. Texts are filled in with the finding's `params`; those that are words of the record
(a role, a step) are put as `words` has them. Texts never say "fraud" or "tampering": most of what the record finds is an
honest slip at the end of a long day. What the rules themselves are about is told in `rules/`.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib import import_module
from pkgutil import iter_modules
from typing import TYPE_CHECKING

from custody.domain.findings import Finding
from custody.messages.words import WORD_PARAMS, WORDS

if TYPE_CHECKING:
    from django.utils.functional import _StrPromise

    Words = tuple[_StrPromise, _StrPromise]


@cache
def all_messages() -> Mapping[str, Words]:
    """The tables of all families in one. Raises `ValueError` where two families use one message id."""
    merged: dict[str, Words] = {}
    for module in sorted(each.name for each in iter_modules(__path__) if each.name not in ("rules", "words")):
        table = import_module(f"{__name__}.{module}").MESSAGES
        if doubled := merged.keys() & table.keys():
            raise ValueError(f"message ids used twice: {', '.join(sorted(doubled))}")
        merged |= table
    return merged


def render(finding: Finding) -> tuple[str, str]:
    """What is so and what to do next, in the language in force. Raises `KeyError` for a message or param that is lacking."""
    params = {name: _in_words(name, value) for name, value in finding.params.items()}
    what, then = all_messages()[finding.message or finding.rule]
    return str(what).format(**params), str(then).format(**params)


def _in_words(name: str, value: object) -> str:
    if isinstance(value, list | tuple):
        return ", ".join(_in_words(name, each) for each in value)
    return str(WORDS.get(str(value), value)) if name in WORD_PARAMS else str(value)
