"""Canonical JSON: one spelling, for a narrow kind of data. Against RFC 8785 itself: tests/standards/test_rfc8785.py."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from custody.errors import Refused
from custody.ledger import canonical
from custody.ledger.canonical import MAX_DEPTH, dump_canonical, parse_canonical

GOOD = b'{"at":"2026-11-04T03:14:09Z","items":["BC00012K","BC0003A7"],"release":{"people":["P1"]},"sealed":true,"v":1}'


@pytest.fixture(params=["with orjson", "without orjson"])
def way(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    if request.param == "without orjson":
        monkeypatch.setattr(canonical, "orjson", None)
    else:
        pytest.importorskip("orjson")


def nested(depth: int) -> bytes:
    """An object with arrays inside, `depth` levels in all."""
    return b'{"a":' + b"[" * (depth - 1) + b"]" * (depth - 1) + b"}"


@pytest.mark.usefixtures("way")
def test_canonical_bytes_come_back_as_they_were() -> None:
    value = parse_canonical(GOOD)
    assert value["release"] == {"people": ["P1"]}
    assert dump_canonical(value) == GOOD


@pytest.mark.usefixtures("way")
@pytest.mark.parametrize(
    ("data", "code", "path"),
    [
        (b"", "not-canonical", None),
        (b"{", "not-canonical", None),
        (GOOD[:-1], "not-canonical", None),
        (GOOD + b"\n", "not-canonical", ""),
        (GOOD + b"{}", "not-canonical", None),
        (GOOD.replace(b":1}", b": 1}"), "not-canonical", ""),
        (b'{"b":1,"a":2}', "not-canonical", ""),
        (b'{"a":1,"a":1}', "not-canonical", "a"),
        (b'{"x":[{"a":1,"b":2,"a":3}]}', "not-canonical", "x[0].a"),
        (b'{"a":"\\u0041"}', "not-canonical", ""),
        (b'{"a":"\\/"}', "not-canonical", ""),
        (b'{"a":"\\u000A"}', "not-canonical", ""),
        (b'{"a":"\\ud83d\\ude02"}', "not-canonical", ""),
        (b'{"a":"\\ud83d"}', "not-canonical", "a"),
        (b'{"a":"\xed\xa0\xbd"}', "not-canonical", None),
        (b'{"a":"\xff"}', "not-canonical", None),
        (b'\xef\xbb\xbf{"a":1}', "not-canonical", None),
        ('{"a":["A\u030a"]}'.encode(), "not-canonical", "a[0]"),
        ('{"p\u00e9ch\u00e9":1}'.encode(), "not-canonical", ""),
        (b'{"a":-0}', "not-canonical", ""),
        (b'{"a":01}', "not-canonical", None),
        (b'{"a":1e2}', "wrong-type", "a"),
        (b'{"a":1.0}', "wrong-type", "a"),
        (b'{"a":{"b":[0,1.5]}}', "wrong-type", "a.b[1]"),
        (b'{"a":NaN}', "wrong-type", "a"),
        (b'{"a":-Infinity}', "wrong-type", "a"),
        (b'{"a":null}', "wrong-type", "a"),
        (b'{"a":9007199254740992}', "wrong-type", "a"),
        (b'{"a":-9007199254740992}', "wrong-type", "a"),
        (b'{"a":18446744073709551616}', "wrong-type", "a"),
        (b'{"a":' + b"9" * 5000 + b"}", "not-canonical", None),
        (b"[1]", "wrong-type", ""),
        (b'"text"', "wrong-type", ""),
        (b"null", "wrong-type", ""),
        (b"1", "wrong-type", ""),
        (nested(MAX_DEPTH + 1), "not-canonical", "a" + "[0]" * (MAX_DEPTH - 1)),
        (nested(100_000), "not-canonical", None),
        (b"[" * 100_000, "not-canonical", None),
        (b'{"a":' * 100_000, "not-canonical", None),
    ],
    ids=lambda value: repr(value[:40]) if isinstance(value, bytes) else None,
)
def test_other_bytes_are_refused_with_the_place_named(data: bytes, code: str, path: str | None) -> None:
    with pytest.raises(Refused) as refusal:
        parse_canonical(data)
    assert (refusal.value.code, refusal.value.data.get("path")) == (code, path)


@pytest.mark.usefixtures("way")
@pytest.mark.parametrize(
    "data",
    [
        b"{}",
        b'{"":0}',
        b'{"a":9007199254740991,"b":-9007199254740991}',
        b'{"A":1,"a":2,"aa":3}',
        '{"a":"\u00e5 \u20ac \U0001f602 \u007f\u2028"}'.encode(),
        # An escaped newline before a combining tilde is in normal form, though its spelling looks like an n with a
        # tilde.
        '{"a":"\\n\u0303"}'.encode(),
        b'{"a":"\\b\\f\\n\\r\\t\\u0000\\u001f\\"\\\\/"}',
        nested(MAX_DEPTH),
        b'{"a":"' + b"[" * 1000 + b'"}',
    ],
)
def test_edges_of_what_is_allowed_are_taken(data: bytes) -> None:
    assert dump_canonical(parse_canonical(data)) == data


class Text(str):
    __slots__ = ()


@pytest.mark.usefixtures("way")
@pytest.mark.parametrize(
    ("value", "path"),
    [
        ({"a": [1, None]}, r"a\[1\]: null"),
        ({"a": {"b": 1.5}}, r"a\.b: a number"),
        ({"a": 2**53}, "a: an integer"),
        ({"a": "A\u030a"}, "a: text"),
        ({"a": "\ud83d"}, "a: a lone"),
        ({"\u00e5": 1}, "value: a member name"),
        ({"a": {1: 2}}, "a: a member name"),
        ({"a": (1, 2)}, "a: tuple"),
        ({"a": b"1"}, "a: bytes"),
        ({"a": Text("b")}, "a: Text"),
        ({"a": json.loads("[" * 64 + "]" * 64)}, r"a(\[0\]){63}: nested"),
        (None, "value: null"),
    ],
)
def test_value_of_another_kind_is_not_written(value: Any, path: str) -> None:
    with pytest.raises(ValueError, match=path):
        dump_canonical(value)


texts = st.text(max_size=12) | st.sampled_from(["\n\u0303", "\u0303", "A\u030a", "\u00e5", "\\", '"', "\u2028", "\x7f"])
integers = st.integers() | st.integers(min_value=-(2**53) - 2, max_value=2**53 + 2)
values = st.recursive(
    st.none() | st.booleans() | integers | st.floats() | texts,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(texts, inner, max_size=4),
    max_leaves=12,
)
objects = st.dictionaries(texts, values, max_size=5)


def outcome(data: bytes) -> object:
    try:
        return parse_canonical(data)
    except Refused as refusal:
        return refusal.code, refusal.detail, refusal.data


def both_ways(data: bytes) -> tuple[object, object]:
    with pytest.MonkeyPatch.context() as patch:
        quick = outcome(data)
        patch.setattr(canonical, "orjson", None)
        return quick, outcome(data)


@given(objects, st.booleans(), st.booleans())
def test_both_ways_agree_on_any_object(value: dict[str, Any], spaced: bool, sort: bool) -> None:
    text = json.dumps(value, ensure_ascii=False, sort_keys=sort, separators=None if spaced else (",", ":"))
    quick, careful = both_ways(text.encode("utf-8", "surrogatepass"))
    assert quick == careful


@given(
    st.integers(0, len(GOOD)),
    st.integers(0, len(GOOD)),
    st.binary(max_size=3) | st.sampled_from([b".", b"e", b"[", b","]),
)
def test_both_ways_agree_on_damaged_bytes(start: int, end: int, inserted: bytes) -> None:
    quick, careful = both_ways(GOOD[:start] + inserted + GOOD[end:])
    assert quick == careful


@given(st.binary(max_size=60) | st.text(alphabet='{}[]",:\\u0019.eE-+ truefalsn', max_size=40).map(str.encode))
def test_any_bytes_are_parsed_or_refused_and_both_ways_agree(data: bytes) -> None:
    quick, careful = both_ways(data)
    assert quick == careful


@given(objects)
def test_what_is_written_is_the_same_both_ways_and_reads_back(value: dict[str, Any]) -> None:
    def written() -> bytes | str:
        try:
            return dump_canonical(value)
        except ValueError as error:
            return str(error)

    with pytest.MonkeyPatch.context() as patch:
        quick = written()
        patch.setattr(canonical, "orjson", None)
        assert quick == written()
    if isinstance(quick, bytes):
        assert parse_canonical(quick) == value
