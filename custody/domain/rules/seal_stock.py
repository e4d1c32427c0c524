"""The rule about loose seals: every number that was issued to a polling place is used, brought back or reported void.

A seal that lies about unrecorded can be put on by anybody, in place of one that was cut. Common practice of the trade
(the seal log), no published source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from custody.domain.findings import Finding, Severity
from custody.domain.parties import split_number
from custody.domain.scopes import SealStock
from custody.domain.states import Moment
from custody.domain.vocabulary import DESK_ROLES, SiteKind


class Loose(NamedTuple):
    """A time in which a number was issued and not accounted for; `end` is `None` while it lasts."""

    start: Moment
    end: Moment | None
    number: str


def seal_unaccounted(stock: SealStock) -> Iterator[Finding]:
    """After the return deadline, numbers issued to a polling place are not accounted for. Standing, one per place.

    Accounted for is a number that was put on, or read on any item, or handed over loose to a receiving clerk, vault
    custodian or warehouse clerk, or reported void. A number that a later handoff gave to another polling place is that
    place's to account for. Of a number that several makers have, a seal of a maker whom the place has no lot of does
    not count. The state begins at the deadline, or with the handoff that issued a number after it, and ends when no
    number is open any more; of several such times the last is reported.
    """
    site = stock.register.sites.get(stock.site)
    if site is None or site.kind is not SiteKind.POLLING_PLACE:
        return
    spell = _last_spell(each for number in stock.numbers for each in _loose(stock, number))
    if not spell:
        return
    began = spell[0].start
    ends = [each.end for each in spell if each.end is not None]
    cleared = max(ends) if len(ends) == len(spell) else None
    numbers = sorted({each.number for each in spell if cleared is not None or each.end is None})
    yield Finding(
        rule="seal-unaccounted",
        scope=(stock.election.code, stock.site),
        severity=Severity.WARNING,
        at=began.time,
        election=stock.election.code,
        site=stock.site,
        entries=(began.entry,) if began.entry else (),
        seals=tuple(numbers),
        message="seal-unaccounted",
        params={"site": stock.site, "numbers": runs(numbers)},
        began=began,
        cleared=cleared,
        at_limit=not began.entry,
    )


def _loose(stock: SealStock, number: str) -> Iterator[Loose]:
    """The times after the return deadline in which a number was issued to the place and not accounted for."""
    limit = Moment(stock.election.return_deadline, "")
    settled = _settled(stock, number)
    for start, end in _issued(stock, number):
        end = min((each for each in (end, settled) if each is not None), default=None)
        start = max(start, limit)
        # An entry at the very second of the deadline is still in time.
        if end is None or (end.time > limit.time and end > start):
            yield Loose(start=start, end=end, number=number)


def _issued(stock: SealStock, number: str) -> Iterator[tuple[Moment, Moment | None]]:
    """The times in which the place had the number to account for, by its lot or by handoffs of loose seals."""
    since = Moment(-(2**63), "") if _lot_makers(stock, number) else None
    for move in stock.moves[number]:
        here = (move.election, move.site) == (stock.election.code, stock.site)
        gone = move.role in DESK_ROLES or (not here and _is_polling_place(stock, move.site))
        if here and since is None:
            since = move.by
        if gone and since is not None:
            yield since, move.by
            since = None
    if since is not None:
        yield since, None


def _is_polling_place(stock: SealStock, code: str | None) -> bool:
    site = stock.register.sites.get(code or "")
    return site is not None and site.kind is SiteKind.POLLING_PLACE


def _lot_makers(stock: SealStock, number: str) -> set[str]:
    """The makers of the lots by which the register issued a number to the place for this election."""
    return {
        lot.maker
        for lot in stock.register.lots_with(number)
        if lot.issued_to == stock.site and lot.election in ("", stock.election.code)
    }


def _settled(stock: SealStock, number: str) -> Moment | None:
    """When a number was first put on, read on an item or reported void: it is accounted for, for good."""
    state, makers = stock.numbers[number], _lot_makers(stock, number)
    put_on = (each.since for each in state.applied if not makers or each.maker in (None, *makers))
    read = (each.since for each in state.read)
    void = (each.by for each in stock.voids[number])
    return min((*put_on, *read, *void), default=None)


def _last_spell(times: Iterable[Loose]) -> list[Loose]:
    """The times that make up the last unbroken one in which any number was open, earliest first."""
    spell: list[Loose] = []
    until: Moment | None = None
    for each in sorted(times, key=lambda each: (each.start, each.number)):
        if spell and until is not None and each.start > until:
            spell = []
        until = each.end if not spell else _later(until, each.end)
        spell.append(each)
    return spell


def _later(one: Moment | None, other: Moment | None) -> Moment | None:
    return None if one is None or other is None else max(one, other)


def runs(numbers: Iterable[str]) -> list[str]:
    """Seal numbers in words: those that follow one another as `S0000026..S0000029`, in order."""
    found: list[tuple[str, str]] = []
    for number in sorted(numbers, key=split_number):
        prefix, value, width = split_number(number)
        if found and width and split_number(found[-1][1]) == (prefix, value - 1, width):
            found[-1] = (found[-1][0], number)
        else:
            found.append((number, number))
    return [first if first == last else f"{first}..{last}" for first, last in found]


SEAL_STOCK_RULES = (seal_unaccounted,)
