"""The index of seal lots answers as a look through all of them would."""

from __future__ import annotations

import random

from custody.domain.lots import Lots, SealLot
from custody.domain.parties import parse_seal_range


def lot(text: str, *, maker: str = "Arnby", site: str = "") -> SealLot:
    return SealLot(maker=maker, lot="L1", seals=parse_seal_range(text), issued_to=site)


def test_whatever_the_sizes_of_lots_each_number_finds_all_that_hold_it() -> None:
    rng = random.Random(1)  # noqa: S311 - it has to come out the same again
    index, lots = Lots(), []
    for number in range(300):
        first = rng.randint(1, 2_000)
        last = first + rng.choice([0, 1, 7, 8, 39, 40, 255, 900])
        lots.append(lot(f"S{first:05}..S{last:05}", maker=f"M{number:03}"))
        index.put(lots[-1])
    for gone in rng.sample(lots, 100):
        index.remove(gone)
        lots.remove(gone)
    for value in range(3_000):
        held = [each for each in lots if each.seals.first <= value <= each.seals.last]
        assert index.with_number(f"S{value:05}") == held
    for first in range(0, 3_000, 61):
        met = [each for each in lots if each.seals.first <= first + 99 and first <= each.seals.last]
        assert index.meeting("S", 5, first, first + 99) == met


def test_lots_of_another_prefix_or_width_are_others() -> None:
    index = Lots()
    index.put(lot("S0001..S0009"))
    assert (index.with_number("T0001"), index.with_number("S001"), index.with_number("S0010")) == ([], [], [])


def test_a_place_has_its_lots_until_they_are_taken_out() -> None:
    index, one, other = Lots(), lot("S0001..S0009", site="P01"), lot("S0020..S0029", site="P01")
    index.put(one)
    index.put(other)
    twin = index.copy()
    index.remove(one)
    assert (index.issued_to("P01"), index.issued_to("P02"), twin.issued_to("P01")) == ([other], [], [one, other])
