"""What changed hands between two moments."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from custody.queries.holdings import Held


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One item that was held otherwise at the later moment; `before` or `after` is `None` where nobody held it on record."""

    item: str
    before: Held | None
    after: Held | None


def compare_holdings(before: Iterable[Held], after: Iterable[Held]) -> list[Change]:
    """The items whose holder or container differs, by code."""
    then, now = ({each.item: each for each in held} for held in (before, after))
    return [
        Change(item=code, before=then.get(code), after=now.get(code))
        for code in sorted(then.keys() | now.keys())
        if _how(then.get(code)) != _how(now.get(code))
    ]


def _how(held: Held | None) -> tuple[object, ...]:
    return () if held is None else (held.holder, held.container)
