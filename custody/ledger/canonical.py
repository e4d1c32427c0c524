"""Canonical JSON: the one spelling of a value that is signed and hashed (RFC 8785, JSON Canonicalization Scheme).

Two people sign the same bytes only if everybody spells a value in the same way. RFC 8785 fixes that spelling; this
module reads and writes it for a narrower kind of data than JSON allows, in which the hard parts of the standard
cannot arise:

- strings in Unicode normalization form NFC, without lone surrogates (RFC 8785 itself leaves normalization alone);
- integers within plus or minus 2^53 - 1, which every JSON reader holds exactly (RFC 7493 section 2.2); no floats;
- booleans, arrays and objects; no null, since an absent member is left out;
- member names in ASCII, none twice. RFC 8785 section 3.2.3 sorts names by UTF-16 code units, which for ASCII is plain
  order;
- at most 64 levels of nesting, so that no reader's stack decides what is valid.

Not a general implementation of RFC 8785, and not a schema check: which members an entry has is no concern of this
module.

There are two ways through it. The careful way uses the standard library alone, defines what is accepted, and names
the place of a fault. Where orjson is installed, bytes in order take a quick way that can only say "in order" or "look
carefully"; a refusal therefore always comes from the careful way, and is the same everywhere.
"""

from __future__ import annotations

import json
from typing import Any, Final
from unicodedata import is_normalized

from custody.errors import Refused

try:
    import orjson
except ImportError:  # pragma: no cover - the quick way is optional; tests switch it off to compare
    orjson = None  # type: ignore[assignment]

MAX_INTEGER: Final = 2**53 - 1
"""Largest magnitude of an integer: what an IEEE 754 double, hence a browser, holds without loss."""

MAX_DEPTH: Final = 64
"""Deepest nesting of arrays and objects. The record itself nests five deep; the limit stops hostile input only."""

_DOUBLED: Final = object()
"""Stands for the value of a member that was given twice, so that the walk can name its path."""


class _FaultError(Exception):
    """A value outside our kind of data: a refusal code, a sentence, and the path of the value."""

    def __init__(self, code: str, detail: str, path: str) -> None:
        super().__init__(f"{path or 'value'}: {detail}")
        self.code, self.detail, self.path = code, detail, path


def dump_canonical(value: Any) -> bytes:
    """The canonical bytes of a value made of `dict`, `list`, `str`, `int` and `bool`, in UTF-8.

    The types are exact: a subclass (an enumeration member, say) is refused, because two encoders might spell it
    differently. Raises `ValueError` naming the path of what is not our kind of data, as in `release.people[1]: …`.
    """
    if orjson is not None and _is_plain((value,)):
        try:
            data = orjson.dumps(value, option=orjson.OPT_SORT_KEYS)
        except TypeError:  # a lone surrogate, a name that is no string, nesting too deep: the careful way says which
            data = None
        if data is not None and _is_shallow(data) and _is_sound(value, data):
            return data
    try:
        _walk(value, "", 0)
    except _FaultError as fault:
        raise ValueError(str(fault)) from None
    return _encode(value)


def parse_canonical(data: bytes) -> dict[str, Any]:
    """The object whose canonical form is exactly `data`.

    Raises `Refused`, and nothing else, for any other bytes: `not-canonical` when they are not the one spelling of a
    value (white space, order, escapes, a doubled member, bad UTF-8), `wrong-type` when the value is not of our kind
    (a float, null, an integer too large, no object at the top). `data["path"]` of the error names the place where
    there is one.
    """
    value = _parse_quickly(data)
    return _parse_carefully(data) if value is None else value


def _parse_quickly(data: bytes) -> dict[str, Any] | None:
    """The object, if it is quickly seen to be in order; `None` means: not known, look carefully.

    Equal bytes after a round trip show that order, white space, escapes and numbers are canonical and no member is
    doubled (orjson keeps one of the two). What a round trip does not show is checked here: types, range, depth, names
    and normalization.
    """
    if orjson is None or not _is_shallow(data):
        return None
    try:
        value = orjson.loads(data)
        if type(value) is not dict or orjson.dumps(value, option=orjson.OPT_SORT_KEYS) != data:
            return None
    except (ValueError, TypeError):
        return None
    return value if _is_plain(value.values()) and _is_sound(value, data) else None


def _is_sound(value: Any, data: bytes) -> bool:
    """Whether all names are ASCII and all strings in normal form, seen from the value's canonical bytes.

    Normal form of the whole text gives normal form of each string: what stands between strings is ASCII, and so is
    every escape, and neither composes with what follows it. The converse does not hold (an escaped `\\n` before a
    combining tilde looks like an `n` with one), so False means only that it must be looked at string by string.
    """
    return data.isascii() or (is_normalized("NFC", data.decode("utf-8")) and _has_ascii_names(value))


def _is_shallow(data: bytes) -> bool:
    """Whether the nesting cannot pass the limit: too few brackets. False means only that it must be counted."""
    return data.count(b"[") + data.count(b"{") <= MAX_DEPTH


def _is_plain(values: Any) -> bool:
    """Whether all values, at any depth, are of our types and range. Depth must be known to be small when parsed."""
    for value in values:
        kind = type(value)
        if kind is str or kind is bool:
            continue
        if kind is int:
            if not -MAX_INTEGER <= value <= MAX_INTEGER:
                return False
        elif kind is dict:
            if not _is_plain(value.values()):
                return False
        elif kind is not list or not _is_plain(value):
            return False
    return True


def _has_ascii_names(value: Any) -> bool:
    if type(value) is dict:
        return all(map(str.isascii, value)) and all(map(_has_ascii_names, value.values()))
    return type(value) is not list or all(map(_has_ascii_names, value))


def _parse_carefully(data: bytes) -> dict[str, Any]:
    """The definition of what is accepted, with the standard library alone."""
    try:
        value = json.loads(data.decode("utf-8"), object_pairs_hook=_pairs)
    except UnicodeDecodeError as error:
        raise Refused("not-canonical", f"Byte {error.start} is not valid UTF-8.") from None
    except RecursionError:
        raise Refused("not-canonical", f"Arrays and objects are nested more than {MAX_DEPTH} deep.") from None
    except ValueError:  # not JSON, or an integer of thousands of digits
        raise Refused("not-canonical", "The bytes are not JSON.") from None
    if type(value) is not dict:
        raise Refused("wrong-type", "The outermost value is not an object.", path="")
    try:
        _walk(value, "", 0)
    except _FaultError as fault:
        raise Refused(fault.code, f"{fault.path}: {fault.detail}", path=fault.path) from None
    if _encode(value) != data:
        raise Refused("not-canonical", "The same value has another spelling in canonical form (RFC 8785).", path="")
    return value


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) != len(pairs):
        seen: set[str] = set()
        for name, _ in pairs:
            if name in seen:
                members[name] = _DOUBLED
            seen.add(name)
    return members


def _encode(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True).encode("utf-8")


def _walk(value: Any, path: str, depth: int) -> None:
    """Raise `_FaultError` at the first value, in the order written, that is not of our kind."""
    kind = type(value)
    if kind is str:
        _check_string(value, path)
    elif kind is int:
        if not -MAX_INTEGER <= value <= MAX_INTEGER:
            raise _FaultError("wrong-type", "an integer beyond 2^53 - 1", path)
    elif kind is dict or kind is list:
        if depth >= MAX_DEPTH:
            raise _FaultError("not-canonical", f"nested more than {MAX_DEPTH} deep", path)
        if kind is list:
            for index, element in enumerate(value):
                _walk(element, f"{path}[{index}]", depth + 1)
            return
        for name, member in value.items():
            if type(name) is not str or not name.isascii():
                raise _FaultError("not-canonical", f"a member name that is not ASCII: {name!a}", path)
            _walk(member, f"{path}.{name}" if path else name, depth + 1)
    elif kind is not bool:
        if value is _DOUBLED:
            raise _FaultError("not-canonical", "the member stands twice", path)
        what = "null" if value is None else "a number with a fraction or exponent" if kind is float else kind.__name__
        raise _FaultError("wrong-type", f"{what} is not allowed", path)


def _check_string(text: str, path: str) -> None:
    if text.isascii():
        return
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise _FaultError("not-canonical", "a lone surrogate, which is no character", path) from None
    if not is_normalized("NFC", text):
        raise _FaultError("not-canonical", "text that is not in normalization form NFC", path)
