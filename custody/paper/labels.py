"""Labels of items: the code to be scanned, the code to be read, and what the thing is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.pdfgen.canvas import Canvas

from custody.paper.qr import draw_symbol, make_symbol
from custody.paper.sheets import BOLD, CODE, FACE, Grid, crop_marks, fill_sheets, wrap, write

WIDTH, HEIGHT = 64.0, 34.0
CODE_SIDE = 29.0
INSET = 2.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """What stands on one label. `address` is what the QR code says, in capitals."""

    code: str
    address: str
    kind: str
    description: str = ""
    tag: str = ""
    office: str = ""


def label_grid(paper: str) -> Grid:
    return Grid(paper=paper, width=WIDTH, height=HEIGHT)


def print_labels(labels: Sequence[Label], *, paper: str) -> bytes:
    """Sheets of labels, in the order given."""
    return fill_sheets(labels, label_grid(paper), draw_label, title="Item labels")


def draw_label(canvas: Canvas, label: Label, x: float, y: float) -> None:
    crop_marks(canvas, x, y, WIDTH, HEIGHT)
    draw_symbol(canvas, make_symbol(label.address), x + INSET, y + (HEIGHT - CODE_SIDE) / 2, CODE_SIDE)
    left, room = x + INSET + CODE_SIDE + 1, WIDTH - CODE_SIDE - 2 * INSET - 1
    write(canvas, label.kind, left, y + HEIGHT - 6, size=10, width=room, face=BOLD)
    for line, text in enumerate(wrap(label.description, face=FACE, size=7.5, width=room)[:2]):
        write(canvas, text, left, y + HEIGHT - 9.5 - 3 * line, size=7.5, width=room)
    write(canvas, label.code[:4], left, y + HEIGHT - 19.5, size=19, width=room, face=CODE)
    write(canvas, label.code[4:], left, y + HEIGHT - 26, size=19, width=room, face=CODE)
    write(canvas, label.tag, left, y + 4.9, size=7, width=room)
    write(canvas, label.office, left, y + 2, size=6.5, width=room, grey=0.25)
