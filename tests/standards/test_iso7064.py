"""ISO 7064 MOD 37-2 (python-stdnum as an independent check) and Crockford's base 32."""

from __future__ import annotations

import json
from itertools import combinations
from pathlib import Path

import pytest
from stdnum.iso7064 import mod_37_2

from custody.domain.labels import SYMBOLS, check_character, next_code, parse_code, read_code
from custody.domain.vocabulary import ItemKind


@pytest.fixture(scope="module")
def codes() -> list[str]:
    """200 issued codes, 20 of each kind."""
    issued: set[str] = set()
    for kind in ItemKind:
        number = 0
        for _ in range(20):
            code, number = next_code(kind, issued, number * 3)  # spread over all five places
            issued.add(code)
    return sorted(issued)


def test_the_published_check_characters_are_ours(reference: Path) -> None:
    """The first is the standard's own example as python-stdnum has it, the others were computed apart."""
    vectors = json.loads((reference / "check_digits.json").read_text("utf-8"))["mod_37_2"]
    assert vectors[0] == ["G123489654321", "Y"]
    assert [[text, check_character(text)] for text, _ in vectors] == vectors
    assert [[text, mod_37_2.calc_check_digit(text)] for text, _ in vectors] == vectors


def test_issued_codes_are_valid_for_an_independent_library(codes: list[str]) -> None:
    assert len(codes) == 200
    assert [code for code in codes if not mod_37_2.is_valid(code)] == []


def test_no_single_substitution_is_accepted(codes: list[str]) -> None:
    tried = 0
    for code in codes:
        for at, was in enumerate(code):
            for symbol in SYMBOLS.replace(was, ""):
                wrong = code[:at] + symbol + code[at + 1 :]
                assert check_character(wrong[:-1]) != wrong[-1], wrong
                assert not mod_37_2.is_valid(wrong), wrong
                with pytest.raises(ValueError, match=r"item code|check character"):
                    parse_code(wrong)
                tried += 1
    assert tried == 200 * 8 * 31


def test_no_swap_of_two_characters_is_accepted(codes: list[str]) -> None:
    tried = 0
    for code in codes:
        for left, right in combinations(range(8), 2):
            if code[left] == code[right]:
                continue
            letters = list(code)
            letters[left], letters[right] = letters[right], letters[left]
            wrong = "".join(letters)
            assert check_character(wrong[:-1]) != wrong[-1], wrong
            assert not mod_37_2.is_valid(wrong), wrong
            tried += 1
    assert tried > 3000


def test_what_people_type_is_read_as_crockford_says(reference: Path) -> None:
    """Crockford's base 32: case does not count, I and L are 1, O is 0, hyphens are passed over."""
    vectors = json.loads((reference / "label_codes.json").read_text("utf-8"))["read_forgivingly"]
    assert len(vectors) >= 3
    assert {text: read_code(text) for text in vectors} == vectors
