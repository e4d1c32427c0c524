"""The lots of seals that the register knows, found by a number, by a run of numbers, or by the place they were issued to.

A county issues a lot to every polling place, and every seal that is read is looked for among them: the time for that must
not grow with their number. So a lot is filed by its first and its last number, each divided by the power of two that is
just longer than the lot. A number can only be in lots that are filed under its own quotient, one look a size of lots, and
lots come in few sizes. Not the rows of the register: those are in `register.py`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from custody.domain.parties import SealRange, split_number


@dataclass(frozen=True, slots=True, kw_only=True)
class SealLot:
    """A delivery of numbered seals of one maker. Numbers are unique per maker (ISO 17712)."""

    maker: str
    lot: str
    seals: SealRange
    seal_class: str = ""
    issued_to: str = ""
    election: str = ""


Bin = tuple[str, int, int, int]
"""Prefix, width, size as an exponent of two, and quotient."""


@dataclass(slots=True, kw_only=True)
class Lots:
    """An index of lots. `put` and `remove` keep it; whoever only asks shares it without locks."""

    _bins: dict[Bin, list[SealLot]] = field(default_factory=dict)
    _sizes: dict[tuple[str, int], set[int]] = field(default_factory=dict)
    _issued: dict[str, list[SealLot]] = field(default_factory=dict)

    def put(self, lot: SealLot) -> None:
        """File a lot that is not here yet."""
        for each in _bins_of(lot.seals):
            self._bins.setdefault(each, []).append(lot)
        self._sizes.setdefault((lot.seals.prefix, lot.seals.width), set()).add(_size(lot.seals))
        self._issued.setdefault(lot.issued_to, []).append(lot)

    def remove(self, lot: SealLot) -> None:
        """Take out a lot that is here. That lots of its size were once here is remembered, at the cost of a look."""
        for each in _bins_of(lot.seals):
            self._bins[each].remove(lot)
        self._issued[lot.issued_to].remove(lot)

    def with_number(self, number: str) -> list[SealLot]:
        """The lots that hold a seal number, by maker, lot and first number."""
        prefix, value, width = split_number(number)
        found = [
            lot
            for size in self._sizes.get((prefix, width), ())
            for lot in self._bins.get((prefix, width, size, value >> size), ())
            if lot.seals.first <= value <= lot.seals.last
        ]
        return sorted(found, key=_order) if len(found) > 1 else found

    def meeting(self, prefix: str, width: int, first: int, last: int) -> list[SealLot]:
        """The lots with a number of this run in them, in the same order."""
        found = {
            _order(lot): lot
            for size in self._sizes.get((prefix, width), ())
            for quotient in range(first >> size, (last >> size) + 1)
            for lot in self._bins.get((prefix, width, size, quotient), ())
            if lot.seals.first <= last and first <= lot.seals.last
        }
        return [found[each] for each in sorted(found)]

    def issued_to(self, site: str) -> list[SealLot]:
        """The lots of a place, in the order in which they came."""
        return self._issued.get(site, [])

    def copy(self) -> Lots:
        """An index that goes on by itself."""
        return Lots(
            _bins={each: list(lots) for each, lots in self._bins.items()},
            _sizes={each: set(sizes) for each, sizes in self._sizes.items()},
            _issued={each: list(lots) for each, lots in self._issued.items()},
        )


def _order(lot: SealLot) -> tuple[str, str, int]:
    return (lot.maker, lot.lot, lot.seals.first)


def _size(seals: SealRange) -> int:
    return (seals.last - seals.first).bit_length()


def _bins_of(seals: SealRange) -> set[Bin]:
    """Where a lot is filed: it is no longer than its divisor, so that it has numbers of two quotients at most."""
    size = _size(seals)
    return {(seals.prefix, seals.width, size, end >> size) for end in (seals.first, seals.last)}
