"""The rules: each a pure function from what it is told to findings. Their codes are a contract, never used again for another.

Four kinds, by what they look at; nothing else is given to them:

- entry rules: one `Act`, the entry with the world before and after it;
- journey rules: the things that one entry put on the way back (`Journey`);
- place rules: one polling place in one election (`PlaceDay`);
- item rules: the last state of one item (`ItemLife`).

A rule never raises for a bad world, reads no clock, and yields a finding with the instant at which it arises even when that
lies ahead: whoever asks at an earlier moment does not see it yet.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from custody.domain.acts import Act
from custody.domain.findings import Finding
from custody.domain.scopes import ItemLife, Journey, PlaceDay, SealStock

EntryRule = Callable[[Act], Iterable[Finding]]
JourneyRule = Callable[[Journey], Iterable[Finding]]
PlaceRule = Callable[[PlaceDay], Iterable[Finding]]
ItemRule = Callable[[ItemLife], Iterable[Finding]]
StockRule = Callable[[SealStock], Iterable[Finding]]

ENTRY_RULES: tuple[EntryRule, ...] = ()
JOURNEY_RULES: tuple[JourneyRule, ...] = ()
PLACE_RULES: tuple[PlaceRule, ...] = ()
ITEM_RULES: tuple[ItemRule, ...] = ()
STOCK_RULES: tuple[StockRule, ...] = ()
