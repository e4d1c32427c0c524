"""How a night came in: places and items against time since the polls closed, now and in the election before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.db import connection

from custody import store
from custody.domain.register import Register
from custody.domain.vocabulary import ItemKind
from custody.models.derived import BackRow
from custody.queries.night import Night
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
    where, asked = _returned(log, register, code)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT site, MAX(back) FROM custody_backrow {where} GROUP BY site", asked)  # noqa: S608
        last = dict(cursor.fetchall())
        cursor.execute(f"SELECT back, COUNT(*) FROM custody_backrow {where} GROUP BY back ORDER BY back", asked)  # noqa: S608
        back = [(instant - election.polls_close, count) for instant, count in cursor.fetchall()]
    return Curve(
        election=code,
        name=election.name,
        places=sorted(instant - election.polls_close for site, instant in last.items() if site not in owed),
        items=back,
        all_places=len({*owed, *last}),
        all_items=sum(owed.values()) + sum(count for _, count in back),
    )


def _owed(log: store.LogHead, register: Register, code: str) -> dict[str, int]:
    where, asked = _returned(log, register, code)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT site, COUNT(*) FROM custody_owedrow {where} GROUP BY site", asked)  # noqa: S608
        return dict(cursor.fetchall())


def _returned(log: store.LogHead, register: Register, code: str) -> tuple[str, list[str | int]]:
    """Which rows are of this election and of kinds that must be back, in SQL and its values."""
    policy = register.policies.at(register.elections[code].return_deadline)
    kinds = [kind.value for kind in ItemKind if policy.items[kind].returned]
    marks = ", ".join(["%s"] * len(kinds)) or "NULL"
    return f"WHERE log_id = %s AND election = %s AND kind IN ({marks})", [log.id, code, *kinds]
