"""CSV files read strictly: RFC 4180, UTF-8, the expected header, and every fault named by its line.

Not a guesser: no other delimiter, no other encoding, no repair, except that a byte order mark is passed over, lines may
end without a carriage return, columns may stand in any order, and lines of empty cells are skipped, as spreadsheets
leave them.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from io import StringIO
from unicodedata import normalize

from django.utils.translation import gettext as _

_FIELD = re.compile(r'"([^"]*+(?:""[^"]*+)*+)"(?=,|\r?\n|\r?\Z)|([^",\r\n]*+)(?=,|\r?\n|\r?\Z)')
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ufeff]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """What is wrong with a file: `line` 0 means the file as a whole, an empty `column` the line as a whole."""

    file: str
    line: int
    column: str
    reason: str

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        return f"{place}: {self.column}: {self.reason}" if self.column else f"{place}: {self.reason}"


@dataclass(frozen=True, slots=True, kw_only=True)
class CsvRow:
    """One record: the line of the file on which it begins, counted from 1, and its cells by column, in form NFC.

    A cell that cannot be used, and was reported, is left out of `cells`.
    """

    line: int
    cells: dict[str, str]


def dump_csv(rows: Iterable[Sequence[str]]) -> bytes:
    """Records, the header first, as a file that `parse_csv` reads."""
    text = StringIO(newline="")
    csv.writer(text).writerows(rows)
    return text.getvalue().encode()


def parse_csv(file: str, data: bytes, columns: Sequence[str]) -> tuple[list[CsvRow], list[Problem]]:
    """The rows of a file, and what is wrong with it. `file` is its name, for the problems.

    A fault in the header, or a quotation mark after which nobody can tell where records end, leaves the rest of the
    file unread; after any other fault reading goes on.
    """
    problems: list[Problem] = []

    def fault(line: int, reason: str, column: str = "") -> None:
        problems.append(Problem(file=file, line=line, column=column, reason=reason))

    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        fault(data.count(b"\n", 0, error.start) + 1, _("the file is not in UTF-8; save it again as “CSV UTF-8”"))
        return [], problems
    records = _split(text)
    line, header = next(records, (1, []))
    for reason in [header] if isinstance(header, str) else _faults_of_header(header, columns):
        fault(line, reason)
    if problems:
        return [], problems
    rows = []
    for line, fields in records:
        if isinstance(fields, str):
            fault(line, fields)
        elif not any(fields):
            continue
        elif len(fields) != len(header):
            reason = _("%(found)d cells where the header has %(wanted)d")
            fault(line, reason % {"found": len(fields), "wanted": len(header)})
        else:
            cells, faults = _clean(header, fields)
            for column, reason in faults:
                fault(line, reason, column)
            rows.append(CsvRow(line=line, cells=cells))
    return rows, problems


def _split(text: str) -> Iterator[tuple[int, list[str] | str]]:
    """The records, each with the line on which it begins; for one that is no CSV, the reason in words."""
    position, line = 0, 1
    while position < len(text):
        end = text.find("\n", position)
        end = len(text) if end < 0 else end
        plain = text[position:end].removesuffix("\r")
        fields: list[str] | str
        if '"' in plain:
            fields, end = _split_quoted(text, position)
        elif "\r" in plain:
            fields = _("a carriage return stands alone; lines end with line feeds")
        else:
            fields = plain.split(",")
        yield line, fields
        line += text.count("\n", position, end + 1)
        position = end + 1


def _split_quoted(text: str, position: int) -> tuple[list[str] | str, int]:
    """The fields of a record with quotation marks in it, and the position of the line feed (or the end) behind it."""
    fields: list[str] = []
    while True:
        match = _FIELD.match(text, position)
        if match is None:
            reason = _(
                "a cell with a quotation mark in it stands in quotation marks, and the mark inside is written twice"
            )
            if text[position] != '"':
                following = text.find("\n", position)
                return reason, len(text) if following < 0 else following
            return f"{reason}; {_('what comes after could not be read')}", len(text)
        quoted, plain = match.groups()
        fields.append(plain if quoted is None else quoted.replace('""', '"'))
        position = match.end()
        if text[position : position + 1] != ",":
            position += text.startswith("\r", position)
            return fields, position
        position += 1


def _faults_of_header(header: Sequence[str], columns: Sequence[str]) -> Iterable[str]:
    names = {"columns": ", ".join(columns)}
    if not any(header):
        yield _("the file has no header; its columns are %(columns)s") % names
        return
    for name in columns:
        if name not in header:
            yield _("the header lacks the column %(name)s") % {"name": name}
    for name in dict.fromkeys(header):
        if name not in columns:
            yield _("the header has a column %(name)r; the columns are %(columns)s") % {"name": name, **names}
        elif header.count(name) > 1:
            yield _("the header has the column %(name)s more than once") % {"name": name}


def _clean(header: Sequence[str], fields: Sequence[str]) -> tuple[dict[str, str], list[tuple[str, str]]]:
    """The usable cells by column, and what is wrong with the others: column and reason."""
    whole = "".join(fields)
    hidden = False
    if not (whole.isascii() and whole.isprintable()):
        fields = [normalize("NFC", field) for field in fields]
        hidden = _CONTROL.search(whole) is not None
    cells = dict(zip(header, fields, strict=True))
    faults = []
    for column, field in cells.items():
        if field != field.strip():
            faults.append((column, _("begins or ends with a space or an empty line")))
        elif hidden and _CONTROL.search(field):
            faults.append((column, _("holds a character that cannot be seen or printed")))
    for column, _reason in faults:
        del cells[column]
    return cells, faults
