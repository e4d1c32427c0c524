"""Base64 in one spelling: RFC 4648 section 4, standard alphabet, padded, no stray bits, no line breaks.

Many readers skip what they do not know and ignore the bits left over at the end, so that one value has many texts. In
a record where texts are hashed and compared, every value has exactly one.
"""

from __future__ import annotations

from binascii import a2b_base64, b2a_base64


def parse_base64(text: object) -> bytes:
    """The bytes whose base64 is exactly `text`. Raises `ValueError` for anything else, also for what is no string."""
    if type(text) is not str:
        raise ValueError("base64 is a string")
    data = a2b_base64(text)
    if dump_base64(data) != text:
        raise ValueError("not base64 in the standard alphabet, padded")
    return data


def dump_base64(data: bytes) -> str:
    """The inverse of `parse_base64`."""
    return b2a_base64(data, newline=False).decode("ascii")
