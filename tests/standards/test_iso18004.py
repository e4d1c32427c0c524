"""ISO/IEC 18004 (QR codes): what is printed is read again by two readers of other people's making, also from bad prints.

Rendered at 203 dpi, the resolution of common label printers (common practice, no published source); turned 7°, blurred by a
quarter of a module, a tenth covered.
"""

from __future__ import annotations

import base64
import json
import re
import shutil
import subprocess
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy
import pytest
import zxingcpp
from PIL import Image, ImageDraw, ImageFilter

from custody.paper.cards import CODE_SIDE as CARD_SIDE
from custody.paper.cards import Card, card_grid, print_cards
from custody.paper.labels import CODE_SIDE as LABEL_SIDE
from custody.paper.labels import Label, label_grid, print_labels
from custody.paper.practice import CODE_SIDE as NUMBER_SIDE
from custody.paper.practice import Number, practice_grid, print_practice_sheet
from custody.paper.qr import LEAST_MODULE, QUIET_MODULES, make_symbol
from tests.conftest import lacking

cv2 = pytest.importorskip("cv2")

Box = tuple[float, float, float, float]
DPI = 203
BICUBIC = Image.Resampling.BICUBIC
PAPERS = ("a4", "letter")
ADDRESS = "HTTPS://CUSTODY.ALDER.EXAMPLE/Q/BC000016"
SECRET = "CB1:P01-CHIEF:18W114PP9XBKHGM1EFMEF3AJC0Z"
LONGEST = 45
"""Characters of the longest label address that is promised to fit version 3."""

OFFICE = "Alder County"
LABEL = Label(code="BC000016", address=ADDRESS, kind="Ballot container", description="1 of 3", tag="A-1", office=OFFICE)
CARD = Card(
    code="P01-CHIEF",
    name="Sage Marrowcombe",
    role="Poll chief",
    place="Community Room",
    office=OFFICE,
    secret=SECRET,
    pin="274839",
)
NUMBER = Number(number="S0010501", maker="Arnby", place="BC0000EH back")

PRINTS: dict[str, tuple[Callable[[str], bytes], str, float]] = {
    "label": (lambda paper: print_labels([LABEL], paper=paper), ADDRESS, LABEL_SIDE),
    "card": (lambda paper: print_cards([CARD], paper=paper), SECRET, CARD_SIDE),
    "practice": (lambda paper: print_practice_sheet([NUMBER], paper=paper), NUMBER.number, NUMBER_SIDE),
}


def render(document: bytes, folder: Path) -> Image.Image:
    if shutil.which("pdftoppm") is None:
        lacking("browser", "there is no pdftoppm (Debian: poppler-utils)")
    (folder / "print.pdf").write_bytes(document)
    command = ["pdftoppm", "-r", str(DPI), "-gray", "-singlefile", str(folder / "print.pdf"), str(folder / "print")]
    subprocess.run(command, check=True)  # noqa: S603
    return Image.open(folder / "print.pgm").convert("L")


def cut_out(sheet: Image.Image, side: float, text: str) -> Image.Image:
    """The square of the symbol, quiet zone included, found by where the reader saw it."""
    (found,) = [each for each in zxingcpp.read_barcodes(sheet) if each.text == text]
    corners = [found.position.top_left, found.position.bottom_right]
    module = make_symbol(text).module_size(side) / 25.4 * DPI
    quiet = QUIET_MODULES * module
    left, top = corners[0].x - quiet, corners[0].y - quiet
    right, bottom = corners[1].x + quiet, corners[1].y + quiet
    return sheet.crop((round(left), round(top), round(right), round(bottom)))


COVERS = {"middle": (0.5, 0.5), "right": (0.8, 0.5), "foot": (0.5, 0.8)}
"""Middles of what is covered, in sides of the symbol: all that lies off the three corners by which it is found."""


def worn(symbol: Image.Image, text: str, module: float, covered: str) -> Image.Image:
    """Turned 7°, blurred 0.25 module, and a tenth of the symbol covered in grey."""
    cover = symbol.copy()
    whole = len(make_symbol(text).rows) * module
    half = 0.1**0.5 * whole / 2
    x, y = (QUIET_MODULES * module + part * whole for part in COVERS[covered])
    ImageDraw.Draw(cover).rectangle((x - half, y - half, x + half, y + half), fill=128)
    padded = Image.new("L", (cover.width + 80, cover.height + 80), 255)
    padded.paste(cover, (40, 40))
    turned = padded.rotate(7, resample=BICUBIC, fillcolor=255, expand=True)
    return turned.filter(ImageFilter.GaussianBlur(0.25 * module))


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kind", PRINTS)
def test_every_print_is_read_again_also_when_worn(kind: str, paper: str, tmp_path: Path) -> None:
    make, text, side = PRINTS[kind]
    sheet = render(make(paper), tmp_path)
    module = make_symbol(text).module_size(side) / 25.4 * DPI
    clean = cut_out(sheet, side, text)
    for picture in (clean, *(worn(clean, text, module, covered) for covered in COVERS)):
        assert [each.text for each in zxingcpp.read_barcodes(picture)] == [text]
        assert read_by_opencv(picture) == {text}


def read_by_opencv(picture: Image.Image) -> set[str]:
    """What it reads, held nearer and farther: its finder is choosy about how large a module is."""
    nearer = (picture.resize((picture.width * times, picture.height * times), BICUBIC) for times in (1, 2, 3))
    return {cv2.QRCodeDetector().detectAndDecode(numpy.array(each))[0] for each in nearer} - {""}


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kind", PRINTS)
def test_modules_and_quiet_zones_are_large_enough(kind: str, paper: str, tmp_path: Path) -> None:
    """Measured on the drawing: dark bars a whole number of modules of 0.5 mm long, and four modules free around them (6.3.8)."""
    make, text, side = PRINTS[kind]
    document = make(paper)
    white, bars = symbol_on(document)
    left, bottom, width, height = white
    assert [width, height] == pytest.approx([side, side], abs=0.01)
    module = min(bar[3] for bar in bars)
    assert module >= LEAST_MODULE == 0.5
    assert {round(bar[3] / module, 2) for bar in bars} == {1.0}
    assert all(abs(bar[2] / module - round(bar[2] / module)) < 0.02 for bar in bars)
    modules = 17 + 4 * make_symbol(text).version  # ISO/IEC 18004, 6.3.2: 21 for version 1, four more for each after it
    dark = (
        min(bar[0] for bar in bars),
        min(bar[1] for bar in bars),
        max(bar[0] + bar[2] for bar in bars),
        max(bar[1] + bar[3] for bar in bars),
    )
    assert dark[2] - dark[0] == pytest.approx(modules * module, rel=0.005)
    free = (dark[0] - left, dark[1] - bottom, left + width - dark[2], bottom + height - dark[3])
    assert min(free) >= (QUIET_MODULES - 0.02) * module
    zone = numpy.array(cut_out(render(document, tmp_path), side, text))
    edge = int(QUIET_MODULES * module / 25.4 * DPI) - 2
    for strip in (zone[2:edge, 2:-2], zone[-edge:-2, 2:-2], zone[2:-2, 2:edge], zone[2:-2, -edge:-2]):
        assert strip.min() > 200, "something is printed in the quiet zone"


def symbol_on(document: bytes) -> tuple[Box, list[Box]]:
    """The white square and the dark bars of the one symbol in a PDF, in millimetres, from its drawing orders.

    PDF 32000-1, 8.5.2.1: `x y width height re`. The bars are by far the longest path; the square is filled just before it.
    """
    (stream,) = re.findall(rb"stream\r?\n(.*?)~>\s*endstream", document, re.DOTALL)
    orders = zlib.decompress(base64.a85decode(stream)).decode("latin-1")
    paths = re.findall(r"n ((?:[-\d. ]+ re\s+)+)f\*", orders)
    bars = max(paths, key=len)
    square, *_ = _boxes(paths[paths.index(bars) - 1])
    return square, _boxes(bars)


def _boxes(path: str) -> list[Box]:
    sides = [float(side) / 72 * 25.4 for side in re.findall(r"[-\d.]+", path)]
    return [(x, y, width, height) for x, y, width, height in zip(*[iter(sides)] * 4, strict=True)]


def test_versions_hold_what_the_standard_says(reference: Path) -> None:
    """ISO/IEC 18004, table 7: capacity in alphanumeric mode at level Q."""
    table = json.loads((reference / "qr_capacity.json").read_text())["table"]
    for version in range(1, 8):
        most = table[str(version)]["Q"]["alnum"]
        assert make_symbol("A" * most).version == version
        assert make_symbol("A" * (most + 1)).version == version + 1
    assert make_symbol("HTTPS://" + "A" * (LONGEST - 8)).version == 3
    assert make_symbol("https://" + "a" * (LONGEST - 8)).version == 4


def test_a_symbol_that_would_be_too_small_is_not_printed() -> None:
    endless = Label(code="BC000016", address="HTTPS://" + "LONG." * 60 + "EXAMPLE/Q/BC000016", kind="Ballot container")
    with pytest.raises(ValueError, match="too small"):
        print_labels([endless], paper="a4")


@pytest.mark.parametrize("paper", PAPERS)
def test_sheets_are_filled_and_nothing_stands_outside(paper: str) -> None:
    for grid in (label_grid(paper), card_grid(paper), practice_grid(paper)):
        width, height = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}[paper]
        for place in range(grid.columns * grid.rows):
            x, y = grid.corner(place)
            assert x >= 7.9
            assert y >= 7.9
            assert x + grid.width <= width - 7.9
            assert y + grid.height <= height - 7.9
