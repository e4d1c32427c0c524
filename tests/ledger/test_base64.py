"""Base64 in one spelling: RFC 4648 section 4, with the vectors of its section 10."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from custody.ledger.base64 import dump_base64, parse_base64


@pytest.mark.parametrize(
    ("data", "text"),
    [(b"", ""), (b"f", "Zg=="), (b"fo", "Zm8="), (b"foo", "Zm9v"), (b"foob", "Zm9vYg=="), (b"foobar", "Zm9vYmFy")],
)
def test_published_vectors_hold_both_ways(data: bytes, text: str) -> None:
    assert (dump_base64(data), parse_base64(text)) == (text, data)


@pytest.mark.parametrize(
    "text", ["Zg", "Zg=", "Zh==", "Zg== ", "Zg===", "=", "Z", "Zm8-", "Zm\n9v", "é", None, 7, b"Zg=="]
)
def test_other_spelling_is_refused(text: object) -> None:
    with pytest.raises(ValueError):
        parse_base64(text)


@given(st.text(alphabet="AQgz09+/=-_ \n", max_size=12))
def test_what_is_read_is_what_would_be_written(text: str) -> None:
    try:
        data = parse_base64(text)
    except ValueError:
        return
    assert dump_base64(data) == text
