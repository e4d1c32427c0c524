"""Sheets of paper with cells of one size, filled from the top left."""

from __future__ import annotations

import io
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from django.utils.translation import get_language
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

T = TypeVar("T")

SIZES: dict[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""ISO 216 A4, and the US letter format (ANSI/ASME Y14.1, size A)."""
MARGIN = 8.0
"""What many printers cannot print on."""
LEAST_SIZE = 5
"""Points; what is smaller nobody reads."""
FACE, BOLD, CODE = "Helvetica", "Helvetica-Bold", "Courier-Bold"


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Cells of `width` × `height` on a sheet, with `gap` between them, centred; `head` is kept free above them."""

    paper: str
    width: float
    height: float
    gap: float = 0.0
    head: float = 0.0

    @property
    def columns(self) -> int:
        return int((SIZES[self.paper][0] - 2 * MARGIN + self.gap) // (self.width + self.gap))

    @property
    def rows(self) -> int:
        return int((SIZES[self.paper][1] - 2 * MARGIN - self.head + self.gap) // (self.height + self.gap))

    def corner(self, place: int) -> tuple[float, float]:
        """The lower left corner of a cell, by its place on its sheet."""
        row, column = divmod(place, self.columns)
        across = self.columns * (self.width + self.gap) - self.gap
        down = self.rows * (self.height + self.gap) - self.gap
        sheet_width, sheet_height = SIZES[self.paper]
        left = (sheet_width - across) / 2 + column * (self.width + self.gap)
        top = sheet_height - (sheet_height - self.head - down) / 2 - self.head - row * (self.height + self.gap)
        return left, top - self.height


def open_canvas(file: io.BytesIO, paper: str, *, title: str) -> Canvas:
    """An empty PDF in the language in force, on sheets of that size."""
    width, height = SIZES[paper]
    canvas = Canvas(file, pagesize=(width * mm, height * mm), pageCompression=1, lang=get_language() or "en")
    canvas.setTitle(title)
    canvas.setCreator("custody-log")
    return canvas


def fill_sheets(
    things: Sequence[T],
    grid: Grid,
    draw: Callable[[Canvas, T, float, float], None],
    *,
    title: str,
    heading: Callable[[Canvas, int, int], None] | None = None,
) -> bytes:
    """The PDF: `draw(canvas, thing, x, y)` for each thing; `heading(canvas, sheet, sheets)` on each sheet."""
    file = io.BytesIO()
    canvas = open_canvas(file, grid.paper, title=title)
    at_once = grid.columns * grid.rows
    sheets = max(1, -(-len(things) // at_once))
    for sheet in range(sheets):
        if heading:
            heading(canvas, sheet + 1, sheets)
        for place, thing in enumerate(things[sheet * at_once : (sheet + 1) * at_once]):
            draw(canvas, thing, *grid.corner(place))
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def write(
    canvas: Canvas, text: str, x: float, y: float, *, size: float, width: float, face: str = FACE, grey: float = 0.0
) -> None:
    """One line at `x`, `y`, in points of `size`; smaller where it would be wider than `width`, and cut where still too wide."""
    text = printable(text)
    while stringWidth(text, face, size) > width * mm and size > LEAST_SIZE:
        size -= 0.25
    while text and stringWidth(text, face, size) > width * mm:
        text = text[:-2].rstrip() + "…"
    canvas.setFillGray(grey)
    canvas.setFont(face, size)
    canvas.drawString(x * mm, y * mm, text)


def write_lines(
    canvas: Canvas,
    text: str,
    x: float,
    y: float,
    *,
    size: float,
    width: float,
    most: int,
    face: str = FACE,
    grey: float = 0.0,
) -> float:
    """A text in `most` lines, the first at `y`; smaller where it needs more, and cut where still too long.

    Gives where the line after the last would stand.
    """
    if not text:
        return y
    text = printable(text)
    while len(wrap(text, face=face, size=size, width=width)) > most and size > LEAST_SIZE:
        size -= 0.25
    lines = wrap(text, face=face, size=size, width=width)
    lines[most - 1 :] = [" ".join(lines[most - 1 :])] if len(lines) >= most else []
    step = 1.15 * size / mm
    for line, words in enumerate(lines):
        write(canvas, words, x, y - line * step, size=size, width=width, face=face, grey=grey)
    return y - len(lines) * step


def wrap(text: str, *, face: str, size: float, width: float) -> list[str]:
    """A text in lines that are no wider than `width`, but for a word that is wider alone."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if stringWidth(longer, face, size) > width * mm and lines[-1]:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def printable(text: str) -> str:
    """A text in the letters that every PDF reader has without being sent any (PDF 32000-1, annex D.2: WinAnsiEncoding).

    A letter beyond them stands with fewer marks, “Nguyễn” as “Nguyên”, a minus, as in “UTC−2”, as a hyphen; one that has no
    such likeness is a question mark.
    """
    return "".join(map(_printable, unicodedata.normalize("NFC", text.replace("−", "-"))))


def _printable(letter: str) -> str:
    name = unicodedata.name(letter, "")
    for likeness in (name, name.rpartition(" AND ")[0], name.partition(" WITH ")[0]):
        try:
            found = unicodedata.lookup(likeness)
            found.encode("cp1252")
        except (KeyError, UnicodeEncodeError):
            continue
        return found
    return "?"


def crop_marks(canvas: Canvas, x: float, y: float, width: float, height: float) -> None:
    """Where to cut: a thin grey frame."""
    canvas.setStrokeGray(0.75)
    canvas.setLineWidth(0.3)
    canvas.rect(x * mm, y * mm, width * mm, height * mm, stroke=1, fill=0)
