"""The three small values that entries are made of: parties, seal readings, and ranges of loose seals."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from custody.domain.vocabulary import Role, SealState

RANGE_LIMIT = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Party:
    """Who stands at one end of a handoff, or does an act: a role that answers for it, people, and their site.

    `site` is `None` for people on the move. The people with a chief may have other roles than the party's.
    """

    role: Role
    people: tuple[str, ...]
    site: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One seal as it was read at one point of one item.

    `number` is `None` when the seal is missing or unreadable; `maker` is given only where two makers share the number.
    """

    item: str
    point: str
    state: SealState
    number: str | None = None
    maker: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SealRange:
    """Loose seals `prefix + first … prefix + last`, padded with zeros to `width`; a single number has `first == last`.

    A number without digits at its end has width 0, and stands for itself. `text` is the range as it was written.
    """

    text: str
    prefix: str
    first: int
    last: int
    width: int

    def __len__(self) -> int:
        return self.last - self.first + 1

    def __contains__(self, number: object) -> bool:
        if not isinstance(number, str):
            return False
        prefix, value, width = split_number(number)
        return (prefix, width) == (self.prefix, self.width) and self.first <= value <= self.last

    def numbers(self) -> Iterator[str]:
        """Every number of the range, in order."""
        for value in range(self.first, self.last + 1):
            yield f"{self.prefix}{value:0{self.width}d}" if self.width else self.prefix


_TAIL = re.compile(r"(.*?)([0-9]{0,15})", re.ASCII | re.DOTALL)


def split_number(number: str) -> tuple[str, int, int]:
    """`(prefix, value, width)` of a seal number: the digits at its end (at most 15) count, the rest is prefix."""
    match = _TAIL.fullmatch(number)
    assert match is not None
    prefix, digits = match.groups()
    return prefix, int(digits or "0"), len(digits)


def parse_seal_range(text: str) -> SealRange:
    """Read `S0000026` or `S0000026..S0000029`. Raises `ValueError` in words.

    A range has one prefix, one width, first ≤ last, and at most 10,000 numbers (record format 1, section 3).
    """
    first_text, dots, last_text = text.partition("..")
    if not first_text or (dots and not last_text):
        raise ValueError(f"{text!r} is no seal number or range")
    prefix, first, width = split_number(first_text)
    if not dots:
        return SealRange(text=text, prefix=prefix, first=first, last=first, width=width)
    last_prefix, last, last_width = split_number(last_text)
    if (prefix, width) != (last_prefix, last_width) or width == 0:
        raise ValueError(f"{text!r}: both ends of a range need the same prefix and the same number of digits")
    if first > last:
        raise ValueError(f"{text!r}: the first number is after the last")
    if last - first + 1 > RANGE_LIMIT:
        raise ValueError(f"{text!r}: more than {RANGE_LIMIT} numbers")
    return SealRange(text=text, prefix=prefix, first=first, last=last, width=width)
