"""RFC 8785 (JSON Canonicalization Scheme): published test data, and the library `rfc8785` as judge."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from unicodedata import is_normalized

import pytest
from hypothesis import given
from hypothesis import strategies as st

from custody.errors import Refused
from custody.ledger.canonical import MAX_INTEGER, dump_canonical, parse_canonical

rfc8785 = pytest.importorskip("rfc8785")


def cases(reference: Path) -> dict[str, dict[str, str]]:
    return {one["name"]: one for one in json.loads((reference / "jcs_rfc8785.json").read_text("utf-8"))["cases"]}


def test_judge_itself_passes_the_published_data(reference: Path) -> None:
    for case in cases(reference).values():
        assert rfc8785.dumps(json.loads(case["input"])).hex() == case["expected_hex"]


@pytest.mark.parametrize(
    ("name", "code", "path"),
    [
        ("arrays", "wrong-type", ""),  # no object at the top
        ("french", "not-canonical", ""),  # member names outside ASCII
        ("structures", None, None),
        ("unicode", "not-canonical", "Unnormalized Unicode"),  # canonical by RFC 8785, which leaves NFC alone
        ("values", "wrong-type", "literals[0]"),  # null, and floats after it
        ("weird", "not-canonical", ""),
    ],
)
def test_published_bytes_are_taken_or_refused_as_our_kind_of_data(
    reference: Path, name: str, code: str | None, path: str | None
) -> None:
    data = bytes.fromhex(cases(reference)[name]["expected_hex"])
    if code is None:
        assert dump_canonical(parse_canonical(data)) == data
        return
    with pytest.raises(Refused) as refusal:
        parse_canonical(data)
    assert (refusal.value.code, refusal.value.data["path"]) == (code, path)


def test_published_string_is_written_as_published(reference: Path) -> None:
    case = cases(reference)["values"]
    expected = bytes.fromhex(case["expected_hex"])
    written = dump_canonical({"string": json.loads(case["input"])["string"]})
    assert written[1:-1] == expected[expected.index(b'"string"') : -1]


@pytest.mark.parametrize("case", ["arrays", "french", "structures", "unicode", "values", "weird"])
def test_published_input_in_its_free_spelling_is_refused(reference: Path, case: str) -> None:
    with pytest.raises(Refused) as refusal:
        parse_canonical(cases(reference)[case]["input"].encode())
    assert refusal.value.code in {"not-canonical", "wrong-type"}


strings = st.text(max_size=20).filter(lambda text: is_normalized("NFC", text))
names = st.text(st.characters(max_codepoint=127), max_size=8)
values = st.recursive(
    st.booleans() | st.integers(-MAX_INTEGER, MAX_INTEGER) | strings,
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(names, inner, max_size=5),
    max_leaves=20,
)


@given(st.dictionaries(names, values, max_size=6))
def test_every_value_of_our_kind_is_written_as_the_judge_writes_it(value: dict[str, Any]) -> None:
    data = dump_canonical(value)
    assert data == rfc8785.dumps(value)
    assert parse_canonical(data) == value
