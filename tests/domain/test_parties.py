"""Seal numbers and ranges of loose seals: what is one, what is not, what lies in it (record format 1, section 3)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from custody.domain.parties import RANGE_LIMIT, SealRange, parse_seal_range, split_number
from tests.domain.entry_payloads import ranges


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("S0000026..S0000029", ["S0000026", "S0000027", "S0000028", "S0000029"]),
        ("S0000026", ["S0000026"]),
        ("S0000026..S0000026", ["S0000026"]),
        ("098..101", ["098", "099", "100", "101"]),
        ("A1-9..A1-9", ["A1-9"]),
        ("7", ["7"]),
        ("SPECIAL", ["SPECIAL"]),
        ("S1X", ["S1X"]),
        ("0", ["0"]),
    ],
)
def test_a_range_stands_for_its_numbers(text: str, numbers: list[str]) -> None:
    seals = parse_seal_range(text)
    assert (list(seals.numbers()), len(seals), seals.text) == (numbers, len(numbers), text)
    assert [number in seals for number in numbers] == [True] * len(numbers)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "is no seal number or range"),
        ("..", "is no seal number or range"),
        ("S26..", "is no seal number or range"),
        ("..S29", "is no seal number or range"),
        ("S26..T29", "the same prefix"),
        ("S26..S029", "the same number of digits"),
        ("S98..S101", "the same number of digits"),
        ("SPECIAL..SPECIAL", "the same prefix and the same number of digits"),
        ("S26..S29..S31", "the same prefix"),
        ("S29..S26", "the first number is after the last"),
        ("S00000..S10000", "more than 10000 numbers"),
    ],
)
def test_what_is_no_range_is_said_in_words(text: str, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        parse_seal_range(text)


def test_a_range_holds_ten_thousand_numbers_at_most() -> None:
    assert len(parse_seal_range("S00001..S10000")) == RANGE_LIMIT == 10_000
    with pytest.raises(ValueError, match="more than 10000"):
        parse_seal_range("S00001..S10001")


@pytest.mark.parametrize(
    "number", ["S000025", "S0000030", "S0000025", "T0000026", "0000026", "S0000026 ", "s0000026", ""]
)
def test_a_number_of_another_width_prefix_or_value_is_not_in_a_range(number: str) -> None:
    seals = parse_seal_range("S0000026..S0000029")
    assert number not in seals
    assert "S0000026" in seals


def test_what_is_no_text_is_in_no_range() -> None:
    assert 26 not in parse_seal_range("26..29")
    assert "26" in parse_seal_range("26..29")


@pytest.mark.parametrize(
    ("number", "parts"),
    [
        ("S0000026", ("S", 26, 7)),
        ("0000026", ("", 26, 7)),
        ("S-1-07", ("S-1-", 7, 2)),
        ("SPECIAL", ("SPECIAL", 0, 0)),
        ("S26X", ("S26X", 0, 0)),
        ("S٣", ("S٣", 0, 0)),  # a digit of another script is no digit here
        ("", ("", 0, 0)),
        ("1" * 20, ("1" * 5, int("1" * 15), 15)),
        ("A\n1", ("A\n", 1, 1)),
    ],
)
def test_the_digits_at_its_end_are_the_value_of_a_number(number: str, parts: tuple[str, int, int]) -> None:
    assert split_number(number) == parts


@given(ranges)
def test_first_and_last_number_of_a_range_are_those_it_is_written_with(text: str) -> None:
    seals = parse_seal_range(text)
    first, _, last = text.partition("..")
    assert (next(seals.numbers()), len(seals)) == (first, seals.last - seals.first + 1)
    assert [each for each in seals.numbers() if each not in seals] == []
    assert list(seals.numbers())[-1] == (last or first)


@given(ranges, st.integers(1, 3))
def test_the_neighbours_of_a_range_are_not_in_it(text: str, step: int) -> None:
    seals = parse_seal_range(text)
    before, after = seals.first - step, seals.last + step
    beside = [value for value in (before, after) if value >= 0 and seals.width]
    for value in beside:
        assert f"{seals.prefix}{value:0{seals.width}d}" not in seals


@given(st.text(max_size=24))
def test_any_text_is_a_range_or_is_refused_in_words(text: str) -> None:
    try:
        seals = parse_seal_range(text)
    except ValueError as error:
        assert str(error).startswith(repr(text))
    else:
        assert isinstance(seals, SealRange)
        assert 1 <= len(seals) <= RANGE_LIMIT


@given(st.text(max_size=24))
def test_a_number_is_put_together_again_from_its_parts(number: str) -> None:
    prefix, value, width = split_number(number)
    assert prefix + (f"{value:0{width}d}" if width else "") == number
