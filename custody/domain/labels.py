"""Item codes as they stand on labels: issuing them, checking them, and reading what a person typed.

A code has eight characters: two letters for the kind, a serial of five, and a check character, all from Crockford's 32
symbols (digits and capital letters without I, L, O and U), as in `BC000016`. The check character is that of ISO 7064
MOD 37-2 over the seven before it. It misses no single wrong character and no swap of two, the slips that hands make.

MOD 37-2 has 37 check characters, five of which are not among the 32 symbols (I, L, O, U and `*`). A serial whose check
character would be one of those is never issued, so about one serial in seven is passed over. That keeps the forgiving
reading below sound: an I can only be a 1.

Not a register: whether an item of that code exists is asked elsewhere. Seals are no items; they keep the number that
their maker printed.
"""

from __future__ import annotations

from collections.abc import Container
from itertools import chain
from typing import Final

from custody.domain.vocabulary import ITEM_LETTERS, ItemKind

SYMBOLS: Final = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Crockford's base 32, in the order of their values."""

SERIAL_LENGTH: Final = 5
CODE_LENGTH: Final = 2 + SERIAL_LENGTH + 1
SERIALS: Final = len(SYMBOLS) ** SERIAL_LENGTH
"""How many serials there are; number 0 is not issued, as a row of zeros is what people type when they do not know."""

_CHECK_SYMBOLS: Final = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
_VALUE: Final = {symbol: value for value, symbol in enumerate(_CHECK_SYMBOLS)}
_KINDS: Final = {letters: kind for kind, letters in ITEM_LETTERS.items()}
# Crockford's reading: I and L are 1, O is 0; hyphens and spaces are there for the eye only.
_FORGIVEN: Final = str.maketrans({"I": "1", "L": "1", "O": "0", "-": None, " ": None, "\t": None})


def check_character(text: str) -> str:
    """The ISO 7064 MOD 37-2 check character of a string of digits and capital letters; may be `*`.

    Raises `KeyError` for any other character. The standard's rule: with the check character appended, the sum of each
    character's value times 2 to the power of its place from the right, counted from 0, leaves 1 when divided by 37.
    """
    total = 0
    for symbol in text:
        total = (total + _VALUE[symbol]) * 2 % 37
    return _CHECK_SYMBOLS[(1 - total) % 37]


def dump_code(kind: ItemKind, number: int) -> str | None:
    """The code of a kind's serial number, from 1; `None` for one that is never issued.

    Raises `ValueError` for a number out of range.
    """
    if not 0 < number < SERIALS:
        raise ValueError(f"serial numbers go from 1 to {SERIALS - 1}, not {number}")
    serial = ""
    for _ in range(SERIAL_LENGTH):
        number, digit = divmod(number, len(SYMBOLS))
        serial = SYMBOLS[digit] + serial
    text = ITEM_LETTERS[kind] + serial
    check = check_character(text)
    return text + check if check in SYMBOLS else None


def parse_code(text: str) -> tuple[ItemKind, int]:
    """The kind and the serial number of a code spelt exactly as on its label. Raises `ValueError` in words.

    The inverse of `dump_code`, except that number 0 parses: a code is judged by its check character, not by who
    issued it.
    """
    kind = _KINDS.get(text[:2])
    if len(text) != CODE_LENGTH or kind is None or not all(symbol in SYMBOLS for symbol in text):
        raise ValueError(f"{text!r} is not an item code: two letters for the kind, five characters, a check character")
    if check_character(text[:-1]) != text[-1]:
        raise ValueError(f"the check character of {text!r} does not fit: one character is wrong, or two are swapped")
    number = 0
    for symbol in text[2:-1]:
        number = number * len(SYMBOLS) + SYMBOLS.index(symbol)
    return kind, number


def read_code(text: str) -> str:
    """The code that somebody meant: case, spaces and hyphens do not count, I and L are 1, O is 0; then it is checked.

    Raises `ValueError` as `parse_code`. Nothing else is put right: a near miss is asked about, never corrected.
    """
    code = text.upper().translate(_FORGIVEN)
    parse_code(code)
    return code


def next_code(kind: ItemKind, taken: Container[str], after: int) -> tuple[str, int]:
    """The next code of a kind that is not taken, with its serial number, looking from `after` + 1 to the end.

    When the end is reached, the gaps before are used, from 1. Raises `ValueError` when every serial is taken.
    """
    for number in chain(range(after + 1, SERIALS), range(1, after + 1)):
        code = dump_code(kind, number)
        if code is not None and code not in taken:
            return code, number
    raise ValueError(f"every code of the kind {kind.value} is taken")
