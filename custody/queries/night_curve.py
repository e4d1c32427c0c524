"""How a night came in: places and items against time since the polls closed, now and in the election before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Max, QuerySet

from custody import store
from custody.domain.register import Register
from custody.models.derived import BackRow, OwedRow
from custody.queries.night import Night
from custody.queries.outstanding import due_back
from custody.registers import get_register

EARLIER = 3
"""So many elections before are looked at for one that this log knows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """`places` has the second, from the closing of the polls, at which each place that is in came in; `items` seconds and how
    many items came back at each. Both in order; what came in before is negative. `all_places` and `all_items` owed something.
    """

    election: str
    name: str
    places: Sequence[int]
    items: Sequence[tuple[int, int]]
    all_places: int
    all_items: int


def get_curves(log: store.LogHead, night: Night) -> list[Curve]:
    """The curve of the election that is on, and after it that of the last one before it of which something came back."""
    current = night.election
    register = get_register(log.jurisdiction)
    earlier = sorted((each.date, code) for code, each in register.elections.items() if str(each.date) < current.date)
    known = next((code for _, code in earlier[: -EARLIER - 1 : -1] if _has_returns(log, code)), None)
    curves = [_curve(log, register, current.code, {each.site: each.owed for each in night.places if each.owed})]
    return [*curves, _curve(log, register, known, _owed(log, register, known))] if known else curves


def _has_returns(log: store.LogHead, election: str) -> bool:
    return BackRow.objects.filter(log_id=log.id, election=election).exists()


def _curve(log: store.LogHead, register: Register, code: str, owed: Mapping[str, int]) -> Curve:
    """`owed` says how many items each place has not brought back."""
    election = register.elections[code]
    rows = _returned(BackRow, log, register, code)
    last = dict(rows.values_list("site").annotate(Max("back")))
    counted = rows.values_list("back").annotate(items=Count("*")).order_by("back")
    back = [(instant - election.polls_close, count) for instant, count in counted]
    return Curve(
        election=code,
        name=election.name,
        places=sorted(instant - election.polls_close for site, instant in last.items() if site not in owed),
        items=back,
        all_places=len({*owed, *last}),
        all_items=sum(owed.values()) + sum(count for _, count in back),
    )


def _owed(log: store.LogHead, register: Register, code: str) -> dict[str, int]:
    return dict(_returned(OwedRow, log, register, code).values_list("site").annotate(items=Count("*")))


def _returned(table: type[BackRow | OwedRow], log: store.LogHead, register: Register, code: str) -> QuerySet[Any]:
    """The rows of this election and of kinds that must be back."""
    _, kinds = due_back(register, code)
    return table.objects.filter(log_id=log.id, election=code, kind__in=kinds)
