"""What changed hands between two moments: what came, what went, what changed holder or container."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from custody.queries.holdings import Held, Holds

How = Literal["came", "went", "holder", "container"]
HOW: tuple[How, ...] = ("came", "went", "holder", "container")


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One item that was held otherwise at the later moment; `before` or `after` is `None` where nobody held it on record.

    `how` is seen by what was asked about: what came to a place or person may have been with others before.
    """

    item: str
    how: How
    before: Held | None
    after: Held | None


def compare_holdings(before: Iterable[Held], after: Iterable[Held], asked: Holds) -> list[Change]:
    """The items whose holder or container differs: those that came first, then those that went, each by code.

    `before` and `after` are all that was held; `asked` chooses what was, or is, held as it says.
    """
    then: Mapping[str, Held] = {each.item: each for each in before}
    now: Mapping[str, Held] = {each.item: each for each in after}
    found = [
        Change(item=code, how=how, before=then.get(code), after=now.get(code))
        for code in then.keys() | now.keys()
        if (how := _how(then.get(code), now.get(code), asked)) is not None
    ]
    return sorted(found, key=lambda each: (HOW.index(each.how), each.item))


def _how(before: Held | None, after: Held | None, asked: Holds) -> How | None:
    was, is_now = (each is not None and asked.fits(each) for each in (before, after))
    if was != is_now:
        return "came" if is_now else "went"
    if not was or before is None or after is None:
        return None
    if before.holder != after.holder:
        return "holder"
    return "container" if before.container != after.container else None
