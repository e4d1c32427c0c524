"""What all findings of one entry have in common, filled in once.

Not a rule, and no judgement: a rule decides that something is so and how grave it is; time, election, site, origin and the
entry itself follow from the act.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from custody.domain.acts import Act, origin_of
from custody.domain.findings import Finding, Severity


def entry_finding(
    act: Act,
    rule: str,
    severity: Severity,
    *,
    more_scope: tuple[str, ...] = (),
    variant: str = "",
    items: Iterable[str] = (),
    people: Iterable[str] = (),
    seals: Iterable[str] = (),
    **params: Any,
) -> Finding:
    """A finding that arises at an act. Its scope is the entry's id and `more_scope`; its message is `rule` or `rule.variant`.

    `items`, `people` and `seals` are those that the message names: sorted, each once, they fill in its params of the same
    names. `params` are further plain strings, whole numbers, or lists of strings.
    """
    items, people, seals = _sorted(items), _sorted(people), _sorted(seals)
    named = {"items": items, "people": people, "seals": seals}
    shown: dict[str, Any] = {name: list(codes) for name, codes in named.items() if codes}
    return Finding(
        rule=rule,
        scope=(act.recorded.id, *more_scope),
        severity=severity,
        at=act.recorded.time,
        election=act.entry.election,
        site=act.entry.site,
        origin=origin_of(act, items),
        entries=(act.recorded.id,),
        items=items,
        people=people,
        seals=seals,
        message=f"{rule}.{variant}" if variant else rule,
        params=shown | params,
    )


def _sorted(codes: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(set(codes)))
