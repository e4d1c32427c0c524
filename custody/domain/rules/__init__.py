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

from collections.abc import Callable, Iterable, Mapping

from custody.domain.acts import Act
from custody.domain.findings import Finding
from custody.domain.rules.contents import CONTENT_RULES
from custody.domain.rules.custody import CUSTODY_ENTRY_RULES, CUSTODY_ITEM_RULES
from custody.domain.rules.disposal import DISPOSAL_ENTRY_RULES
from custody.domain.rules.figures import FIGURES_ENTRY_RULES, FIGURES_PLACE_RULES
from custody.domain.rules.night import NIGHT_ITEM_RULES, NIGHT_PLACE_RULES
from custody.domain.rules.opening import OPENING_ENTRY_RULES, OPENING_PLACE_RULES
from custody.domain.rules.people import PEOPLE_RULES
from custody.domain.rules.seal_numbers import SEAL_NUMBER_RULES
from custody.domain.rules.seal_stock import SEAL_STOCK_RULES
from custody.domain.rules.seals import SEAL_RULES
from custody.domain.rules.signatures import SIGNATURE_RULES
from custody.domain.rules.transit import TRANSIT_ENTRY_RULES, TRANSIT_JOURNEY_RULES
from custody.domain.scopes import ItemLife, Journey, PlaceDay, SealStock

EntryRule = Callable[[Act], Iterable[Finding]]
JourneyRule = Callable[[Journey], Iterable[Finding]]
PlaceRule = Callable[[PlaceDay], Iterable[Finding]]
ItemRule = Callable[[ItemLife], Iterable[Finding]]
StockRule = Callable[[SealStock], Iterable[Finding]]

ENTRY_RULES: tuple[EntryRule, ...] = (
    *SIGNATURE_RULES,
    *PEOPLE_RULES,
    *CUSTODY_ENTRY_RULES,
    *TRANSIT_ENTRY_RULES,
    *DISPOSAL_ENTRY_RULES,
    *SEAL_RULES,
    *SEAL_NUMBER_RULES,
    *CONTENT_RULES,
    *FIGURES_ENTRY_RULES,
    *OPENING_ENTRY_RULES,
)
JOURNEY_RULES: tuple[JourneyRule, ...] = (*TRANSIT_JOURNEY_RULES,)
PLACE_RULES: tuple[PlaceRule, ...] = (*FIGURES_PLACE_RULES, *OPENING_PLACE_RULES, *NIGHT_PLACE_RULES)
ITEM_RULES: tuple[ItemRule, ...] = (*CUSTODY_ITEM_RULES, *NIGHT_ITEM_RULES)
STOCK_RULES: tuple[StockRule, ...] = (*SEAL_STOCK_RULES,)


def _scopes() -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    kinds = (
        ("entry", ENTRY_RULES),
        ("journey", JOURNEY_RULES),
        ("place", PLACE_RULES),
        ("item", ITEM_RULES),
        ("stock", STOCK_RULES),
    )
    for kind, rules in kinds:
        for rule in rules:
            code = rule.__name__.removesuffix("_again").replace("_", "-")
            found[code] = (*found.get(code, ()), kind)
    return dict(sorted(found.items()))


RULE_SCOPES: Mapping[str, tuple[str, ...]] = _scopes()
"""By code, what each rule looks at. The codes are the names of their functions; `count-differs` has two of them."""

RULE_CODES: tuple[str, ...] = tuple(RULE_SCOPES)
