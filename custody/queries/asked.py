"""What somebody typed or scanned, as the code that it may stand for. Read forgivingly; never corrected."""

from __future__ import annotations

import re
from urllib.parse import unquote

from custody.domain.labels import read_code

_LABEL = re.compile(r"https?://[^/\s]+/q/([^/?#\s]+)/?", re.IGNORECASE)
_BADGE = re.compile(r"CB1:([^:\s]*)(?::.*)?", re.IGNORECASE | re.DOTALL)


def plain_text(text: str) -> str:
    """What was meant, of what a scanner types: the code on a label, the person of a badge without its secret."""
    text = text.strip()
    if (label := _LABEL.fullmatch(text)) is not None:
        return unquote(label[1]).strip()
    if (badge := _BADGE.fullmatch(text)) is not None:
        return badge[1].strip()
    return text


def is_badge(text: str) -> bool:
    """Whether a text is that of a badge, and so holds a secret, which must be neither shown nor kept."""
    return _BADGE.fullmatch(text.strip()) is not None


def item_code(text: str) -> str:
    """The code of an item where the text can be read as one; else the text in capitals, as codes are written."""
    text = plain_text(text)
    try:
        return read_code(text)
    except ValueError:
        return text.upper()


def plain_code(text: str) -> str:
    """A code of a person or place, in capitals."""
    return plain_text(text).upper()
