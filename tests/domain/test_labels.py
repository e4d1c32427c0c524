"""Item codes: issued in order, checked, and read as a person meant them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from custody.domain import labels
from custody.domain.labels import (
    CODE_LENGTH,
    SERIALS,
    SYMBOLS,
    check_character,
    dump_code,
    next_code,
    parse_code,
    read_code,
)
from custody.domain.vocabulary import ITEM_LETTERS, ItemKind


def test_reference_codes_are_those_we_issue(reference: Path) -> None:
    """`label_codes.json`: computed apart from this program, with the format of the record."""
    vectors = json.loads((reference / "label_codes.json").read_text("utf-8"))
    for code in vectors["issued"]:
        kind, number = parse_code(code)
        assert dump_code(kind, number) == code
    for code in vectors["never_issued"]:
        assert check_character(code[:-1]) == code[-1]
        with pytest.raises(ValueError, match="is not an item code"):
            parse_code(code)


@given(st.sampled_from(list(ItemKind)), st.integers(min_value=1, max_value=SERIALS - 1))
def test_a_code_says_its_kind_and_number_again(kind: ItemKind, number: int) -> None:
    code = dump_code(kind, number)
    letters = ITEM_LETTERS[kind]
    if code is None:
        digits = [number // 32**place % 32 for place in (4, 3, 2, 1, 0)]
        assert check_character(letters + "".join(SYMBOLS[digit] for digit in digits)) in "ILOU*"
    else:
        assert (parse_code(code), code[:2], len(code)) == ((kind, number), letters, CODE_LENGTH)


def test_about_one_serial_in_seven_is_never_issued() -> None:
    """5 of 37 check characters are not among the 32 symbols: 13.5 %."""
    skipped = [number for number in range(1, 37_001) if dump_code(ItemKind.SCANNER, number) is None]
    assert len(skipped) / 37_000 == pytest.approx(5 / 37, abs=0.002)


@pytest.mark.parametrize("number", [0, SERIALS, -1])
def test_a_number_without_a_serial_is_turned_down(number: int) -> None:
    with pytest.raises(ValueError, match="serial numbers go from 1"):
        dump_code(ItemKind.SCANNER, number)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("BC00001", "not an item code"),
        ("BC0000166", "not an item code"),
        ("", "not an item code"),
        ("XX000016", "not an item code"),
        ("bc000016", "not an item code"),
        ("BCO00016", "not an item code"),
        ("BC00001\uff16", "not an item code"),
        ("BC000017", "check character"),
        ("BC000106", "check character"),
        ("SC000016", "check character"),
    ],
)
def test_what_is_no_code_is_turned_down(text: str, reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        parse_code(text)


@pytest.mark.parametrize("text", ["BC000016", " bc-0000-16\t", "bcOoo0i6", "BCoooo16", "BC0000L6"])
def test_a_code_is_read_as_it_was_meant(text: str) -> None:
    assert read_code(text) == "BC000016"


@pytest.mark.parametrize("text", ["BC000017", "BC00016", "8C000016", "BC0000U6", "HTTPS://H/Q/BC000016"])
def test_a_near_miss_is_not_put_right(text: str) -> None:
    with pytest.raises(ValueError, match=r"item code|check character"):
        read_code(text)


def test_the_next_code_is_after_the_last_and_passes_over_what_is_taken_or_never_issued() -> None:
    assert next_code(ItemKind.KEY_SET, set(), 7) == ("KS00009Y", 9)  # KS00008* is never issued
    assert next_code(ItemKind.KEY_SET, {"KS00002B"}, 1) == ("KS000039", 3)
    last = next(number for number in range(SERIALS - 1, 0, -1) if dump_code(ItemKind.KEY_SET, number))
    assert next_code(ItemKind.KEY_SET, {"KS00001D"}, last) == ("KS00002B", 2)


def test_when_every_serial_is_taken_there_is_no_next_code(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(labels, "SERIALS", 10)
    taken = {"KS00001D", "KS00002B", "KS000039", "KS000047", "KS000055", "KS000063", "KS000071"}
    assert next_code(ItemKind.KEY_SET, taken, 7) == ("KS00009Y", 9)
    with pytest.raises(ValueError, match="every code of the kind key_set is taken"):
        next_code(ItemKind.KEY_SET, taken | {"KS00009Y"}, 7)
