"""One cell of a file, from text to the value that stands on the register.

Each reader raises `ValueError` with a reason. It never sees an empty cell: whether a cell may be empty is said by its
column.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from enum import StrEnum
from functools import cache
from typing import Any
from zoneinfo import available_timezones

from django.utils.translation import gettext as _

from custody.domain import labels
from custody.domain.instants import local_instant, parse_instant
from custody.ledger.base64 import parse_base64

TEXT_LIMIT = 1_000
LIST_LIMIT = 500
LOT_DIGITS = 15
"""As many digits at the end of a seal number count as its value (`domain.parties.split_number`)."""

Read = Callable[[str], Any]

_CODE = re.compile(r"[A-Z0-9-]{1,64}", re.ASCII)
_LOCAL = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}", re.ASCII)
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_NUMBER = re.compile(rf"\d{{1,{LOT_DIGITS}}}", re.ASCII)


def read_text(text: str) -> str:
    if len(text) > TEXT_LIMIT:
        raise ValueError(
            _("has %(found)d characters; %(limit)d is the most") % {"found": len(text), "limit": TEXT_LIMIT}
        )
    return text


def read_code(text: str) -> str:
    if not _CODE.fullmatch(text):
        raise ValueError(
            _("“%(text)s” is not a code: capital letters A to Z, digits and hyphens, at most 64") % {"text": text}
        )
    return text


def read_item_code(text: str) -> str:
    """A code as it stands on the label. One that only needs tidying is named, and left to whoever wrote it."""
    try:
        code = labels.read_code(text)
    except ValueError:
        pass
    else:
        if code == text:
            return code
        raise ValueError(_("write the item code as on its label, %(code)s") % {"code": code})
    if len(text) != labels.CODE_LENGTH:
        raise ValueError(
            _("“%(text)s” is not an item code: eight characters, the first two for the kind") % {"text": text}
        )
    raise ValueError(_("“%(text)s” is not an item code: its kind or its check character does not fit") % {"text": text})


def word_of(words: type[StrEnum]) -> Read:
    """A reader of one word of a closed list; what it gives is the plain text."""
    known = {word.value for word in words}

    def read_word(text: str) -> str:
        if text not in known:
            names = ", ".join(word.value for word in words)
            raise ValueError(_("“%(text)s” is not one of: %(names)s") % {"text": text, "names": names})
        return text

    return read_word


def read_date(text: str) -> str:
    try:
        if _DATE.fullmatch(text):
            date.fromisoformat(text)
            return text
    except ValueError:
        pass
    raise ValueError(_("“%(text)s” is not a date of the form YYYY-MM-DD") % {"text": text})


def read_local_time(text: str) -> str:
    """A wall-clock time. It stays one on the register, beside the time zone that gives it its meaning."""
    try:
        if _LOCAL.fullmatch(text):
            local_instant(text, "UTC")
            return text
    except ValueError:
        pass
    raise ValueError(_("“%(text)s” is not a local time of the form YYYY-MM-DDTHH:MM") % {"text": text})


def read_instant(text: str) -> str:
    try:
        parse_instant(text)
    except ValueError:
        reason = _("“%(text)s” is not a time in UTC of the form YYYY-MM-DDTHH:MM:SSZ")
        raise ValueError(reason % {"text": text}) from None
    return text


def read_zone(text: str) -> str:
    if text not in _zones():
        reason = _("“%(text)s” is not a time zone of the IANA list, such as America/Chicago")
        raise ValueError(reason % {"text": text})
    return text


@cache
def _zones() -> set[str]:
    return available_timezones()


def read_public_key(text: str) -> str:
    """The form of a key only; whether it may be used is asked once it is known to be new, as that takes long."""
    try:
        key = parse_base64(text)
    except ValueError:
        key = b""
    if len(key) != 32:
        raise ValueError(_("is not the base64 of a public key of 32 bytes (44 characters, the last one =)"))
    return text


def read_number(text: str) -> int:
    if not _NUMBER.fullmatch(text):
        reason = _("“%(text)s” is not a whole number of at most %(digits)d digits")
        raise ValueError(reason % {"text": text, "digits": LOT_DIGITS})
    return int(text)


def read_width(text: str) -> int:
    width = read_number(text)
    if not 1 <= width <= LOT_DIGITS:
        raise ValueError(_("is not a number of digits from 1 to %(digits)d") % {"digits": LOT_DIGITS})
    return width


def list_of(read: Read) -> Read:
    """A reader of values separated by semicolons, none empty, none twice."""

    def read_list(text: str) -> list[Any]:
        values = [read(part.strip()) if part.strip() else None for part in text.split(";")]
        if None in values:
            raise ValueError(_("has an empty part between semicolons"))
        if len(values) > LIST_LIMIT:
            raise ValueError(
                _("has %(found)d parts; %(limit)d is the most") % {"found": len(values), "limit": LIST_LIMIT}
            )
        doubled = next((value for at, value in enumerate(values) if value in values[:at]), None)
        if doubled is not None:
            raise ValueError(_("names “%(text)s” twice") % {"text": doubled})
        return values

    return read_list


def read_seal_point(text: str) -> str:
    if len(text) > 64:
        raise ValueError(_("has a name of more than 64 characters: “%(text)s”") % {"text": text})
    return text
