"""What is written on paper: whole, in letters that print, and nothing twice."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from django.utils.translation import override

from custody.paper.cards import PUBLIC, Card, grouped, print_cards
from custody.paper.labels import Label, print_labels
from custody.paper.practice import NO_SEAL, Number, print_practice_sheet
from custody.paper.sheets import printable
from tests.conftest import lacking


def words_on(document: bytes, folder: Path) -> str:
    """The text of a PDF as another program finds it."""
    if shutil.which("pdftotext") is None:
        lacking("browser", "there is no pdftotext (Debian: poppler-utils)")
    (folder / "print.pdf").write_bytes(document)
    command = ["pdftotext", "-raw", str(folder / "print.pdf"), "-"]
    return " ".join(subprocess.run(command, check=True, capture_output=True, text=True).stdout.split())  # noqa: S603


def label(description: str, kind: str = "Envelope") -> Label:
    return Label(code="EN0005CN", address="HTTPS://A.EXAMPLE/Q/EN0005CN", kind=kind, description=description)


def card(**members: str) -> Card:
    told = {"code": "P01-W1", "name": "Ash Lanternham", "role": "Poll worker", "place": "Old Mill Hall"}
    return Card(**{"office": "Alder County", **told, **members})


@pytest.mark.parametrize(
    ("description", "remark"),
    [
        ("Envelope 2 of 6: spoiled ballots", "2 of 6: spoiled ballots"),
        ("envelope, large", "large"),
        ("Envelope", ""),
        ("Envelopes, a bundle", "Envelopes, a bundle"),
        ("For the canvass", "For the canvass"),
    ],
)
def test_a_label_does_not_say_its_kind_twice(description: str, remark: str) -> None:
    assert label(description).remark == remark


def test_a_long_description_is_printed_whole(tmp_path: Path) -> None:
    description = "1 of 6: memory device, results tape, zero tape and the keys of the scanner"
    said = words_on(print_labels([label(description)], paper="a4"), tmp_path)
    assert description in said
    assert "EN00 05CN" in said


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_document_names_the_language_that_it_is_in(language: str) -> None:
    """PDF 32000-1, 14.9.2: `Lang` of the catalog, by which a screen reader chooses how to speak."""
    with override(language):
        assert f"/Lang ({language})".encode() in print_labels([label("Envelope")], paper="a4")


def test_what_cannot_be_printed_whole_says_so(tmp_path: Path) -> None:
    assert "…" in words_on(print_labels([label("many words and more " * 12)], paper="a4"), tmp_path)


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("Åsa Peña-Müller", "Åsa Peña-Müller"),
        ("Nguyễn Thị Đào", "Nguyên Thi Dào"),
        ("Łucja Ştefan", "Lucja Stefan"),
        ("Jose\N{COMBINING ACUTE ACCENT}", "José"),
        ("a “quoted” – name’s", "a “quoted” – name’s"),
        ("\N{CJK UNIFIED IDEOGRAPH-674E} Li", "? Li"),
        ("tab\tbed", "tab?bed"),
        ("22:04 UTC−2", "22:04 UTC-2"),
    ],
)
def test_names_are_printed_in_letters_that_every_reader_has(name: str, printed: str, tmp_path: Path) -> None:
    """Windows code page 1252, which PDF calls WinAnsiEncoding."""
    assert printable(name) == printed
    assert printed in words_on(print_cards([card(name=name)], paper="a4"), tmp_path)


def test_a_card_leaves_space_for_the_badge_and_a_public_one_says_that_it_is(tmp_path: Path) -> None:
    secret = "CB1:P01-W1:16GBH4TFARCHH7CS3DKC3SW56CE"
    plain = words_on(print_cards([card()], paper="letter"), tmp_path)
    public = words_on(print_cards([card(secret=secret, pin="274839")], paper="letter"), tmp_path)
    assert "Space for the badge" in plain
    assert "Ring the office" in plain
    assert str(PUBLIC) not in plain
    assert str(PUBLIC) in public
    assert grouped(secret) == "CB1:P01-W1: 16GBH-4TFAR-CHH7C-S3DKC-3SW56-CE"
    assert grouped(secret) in public


def test_each_number_to_practise_with_says_that_it_is_no_seal(tmp_path: Path) -> None:
    numbers = [Number(number=f"S00105{at:02}", maker="Arnby") for at in range(90)]
    said = words_on(print_practice_sheet(numbers, paper="a4"), tmp_path)
    assert said.count(str(NO_SEAL)) == len(numbers)
    assert "S001 0500" in said
    assert "3 of 3" in said


def test_sheets_in_spanish_say_everything_whole(tmp_path: Path) -> None:
    secret = "CB1:P01-W1:16GBH4TFARCHH7CS3DKC3SW56CE"
    with override("es"):
        plain = words_on(print_cards([card()], paper="letter"), tmp_path)
        public = words_on(print_cards([card(secret=secret, pin="274839")], paper="letter"), tmp_path)
        practice = words_on(print_practice_sheet([Number(number="S0010500", maker="Arnby")], paper="a4"), tmp_path)
    assert "¿La perdió? Llame de inmediato a la oficina." in plain
    assert "Espacio para la credencial que imprime la página de alta" in plain
    assert "SIMULACRO · este secreto es público · no vale nada de verdad" in public
    assert "Hoja de práctica. No son sellos: no cierran nada y no prueban nada." in practice
    assert "1 de 1" in practice
    assert "…" not in plain + public + practice
