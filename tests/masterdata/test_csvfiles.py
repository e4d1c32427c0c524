"""CSV files: RFC 4180 read strictly, with the line of every fault."""

from __future__ import annotations

import csv
import io
from unicodedata import normalize

import pytest
from hypothesis import given
from hypothesis import strategies as st

from custody.csvfiles import CsvRow, Problem, parse_csv

COLUMNS = ("code", "name", "address")
HEADER = b"code,name,address\r\n"


def rows_of(data: bytes) -> list[tuple[int, list[str]]]:
    rows, problems = parse_csv("sites.csv", data, COLUMNS)
    assert problems == []
    return [(row.line, [row.cells[column] for column in COLUMNS]) for row in rows]


def faults_of(data: bytes) -> list[tuple[int, str, str]]:
    _, problems = parse_csv("sites.csv", data, COLUMNS)
    assert {problem.file for problem in problems} <= {"sites.csv"}
    return [(problem.line, problem.column, problem.reason) for problem in problems]


@pytest.mark.parametrize("end", ["\r\n", "\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_rows_have_the_line_on_which_they_begin(end: str, mark: str) -> None:
    text = f'{mark}code,name,address\nA,"Hall, ""Old""","1 Mill Lane\nback door"\nB,School,\n\n,,\nC,"","x"'
    found = rows_of(text.replace("\n", end).encode())
    address = f"1 Mill Lane{end}back door"
    assert found == [(2, ["A", 'Hall, "Old"', address]), (4, ["B", "School", ""]), (7, ["C", "", "x"])]


def test_columns_may_stand_in_any_order() -> None:
    rows, problems = parse_csv("sites.csv", b"name,address,code\nHall,Mill Lane,A\n", COLUMNS)
    assert (rows, problems) == ([CsvRow(line=2, cells={"name": "Hall", "address": "Mill Lane", "code": "A"})], [])


@pytest.mark.parametrize(
    ("header", "reasons"),
    [
        ("", ["the file has no header; its columns are code, name, address"]),
        ("code,name", ["the header lacks the column address"]),
        ("code,name,address,name", ["the header has the column name more than once"]),
        (
            "code,name,adress",
            ["lacks the column address", "has a column 'adress'; the columns are code, name, address"],
        ),
        ("Code,name,address", ["lacks the column code", "has a column 'Code'"]),
        ("code;name;address", ["lacks the column code", "lacks the column name", "lacks the column address", "has a"]),
        ("code,name,address,", ["the header has a column ''"]),
        ('"code,name,address', ["quotation mark"]),
    ],
)
def test_a_wrong_header_is_told_and_nothing_is_read(header: str, reasons: list[str]) -> None:
    rows, problems = parse_csv("sites.csv", f"{header}\nA,Hall,Mill Lane\n".encode(), COLUMNS)
    assert rows == []
    assert [problem.line for problem in problems] == [1] * len(reasons)
    assert all(reason in problem.reason for reason, problem in zip(reasons, problems, strict=True))


def test_every_bad_row_is_told_with_its_line_and_the_others_are_read() -> None:
    data = HEADER + b'A,"two\r\nlines",x\r\nB,short\r\nC,Tablet 10" wide,x\r\nD,a\rb,x\r\nE,1,2,3\r\nF,Hall,x\r\n'
    rows, problems = parse_csv("sites.csv", data, COLUMNS)
    assert [(row.line, row.cells["code"]) for row in rows] == [(2, "A"), (8, "F")]
    assert [(problem.line, problem.column) for problem in problems] == [(4, ""), (5, ""), (6, ""), (7, "")]
    assert problems[0].reason == "2 cells where the header has 3"
    assert "written twice" in problems[1].reason
    assert "carriage return" in problems[2].reason
    assert problems[3].reason == "4 cells where the header has 3"


@pytest.mark.parametrize("row", ['A,"Hall,x', 'A,"Hall" x,y', '"A"B,Hall,x', 'A,"Ha"ll",x'])
def test_after_an_open_quotation_mark_nothing_can_be_read(row: str) -> None:
    rows, problems = parse_csv("sites.csv", HEADER + f"Z,ok,ok\nY,ok,ok\n{row}\nB,Hall,x\n".encode(), COLUMNS)
    assert [row.cells["code"] for row in rows] == ["Z", "Y"]
    assert [problem.line for problem in problems] == [4]
    assert "what comes after could not be read" in problems[0].reason


def test_a_cell_that_cannot_be_used_is_left_out_of_its_row() -> None:
    data = HEADER + "A , Hall,x\r\nB,Ha\u200bll,x\r\nC,Ha\x07ll,x\r\nD,Hall,\ufeffx\r\n".encode()
    rows, problems = parse_csv("sites.csv", data, COLUMNS)
    assert [(problem.line, problem.column) for problem in problems] == [
        (2, "code"),
        (2, "name"),
        (4, "name"),
        (5, "address"),
    ]
    assert [sorted(row.cells) for row in rows] == [
        ["address"],
        ["address", "code", "name"],
        ["address", "code"],
        ["code", "name"],
    ]
    assert problems[0].reason == "begins or ends with a space or an empty line"


def test_bytes_that_are_not_utf_8_are_told_with_their_line() -> None:
    assert faults_of(HEADER + b"A,Hall,x\r\nB,Caf\xe9,x\r\n") == [
        (3, "", "the file is not in UTF-8; save it again as “CSV UTF-8”")
    ]


def test_text_comes_out_in_normal_form() -> None:
    """Unicode normalization form C, as the record has it; some systems write form D."""
    assert rows_of(HEADER + "A,Cafe\u0301,x\r\n".encode()) == [(2, ["A", "Caf\u00e9", "x"])]


def test_a_problem_reads_as_a_place_and_a_reason() -> None:
    whole = Problem(file="sites.csv", line=3, column="kind", reason="is empty")
    assert str(whole) == "sites.csv:3: kind: is empty"
    assert str(Problem(file="x.csv", line=0, column="", reason="is not known")) == "x.csv: is not known"


TEXT = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S")), max_size=8)


@given(st.lists(st.tuples(TEXT.filter(bool), TEXT, TEXT), max_size=6), st.sampled_from(["\n", "\r\n"]), st.booleans())
def test_what_the_standard_library_writes_is_read_as_it_was(
    written: list[tuple[str, str, str]], end: str, all_quoted: bool
) -> None:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator=end, quoting=csv.QUOTE_ALL if all_quoted else csv.QUOTE_MINIMAL)
    writer.writerows([COLUMNS, *written])
    expected = [[normalize("NFC", cell) for cell in row] for row in written]
    assert [cells for _, cells in rows_of(out.getvalue().encode())] == expected
