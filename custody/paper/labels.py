"""Labels of items: the code to be scanned, the code to be read, and what the thing is."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext
from reportlab.pdfgen.canvas import Canvas

from custody.paper.qr import draw_symbol, make_symbol
from custody.paper.sheets import BOLD, CODE, Grid, crop_marks, fill_sheets, write, write_lines

WIDTH, HEIGHT = 64.0, 34.0
CODE_SIDE = 30.0
INSET = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """What stands on one label. `address` is what the QR code says, in capitals."""

    code: str
    address: str
    kind: str
    description: str = ""
    tag: str = ""
    office: str = ""

    @property
    def remark(self) -> str:
        """What the description says beyond the kind: “1 of 3” of a ballot container that is “Ballot container 1 of 3”."""
        return re.sub(rf"^{re.escape(self.kind)}\b[\s,:;.–-]*", "", self.description, flags=re.IGNORECASE)


def label_grid(paper: str) -> Grid:
    return Grid(paper=paper, width=WIDTH, height=HEIGHT)


def print_labels(labels: Sequence[Label], *, paper: str) -> bytes:
    """Sheets of labels, in the order given."""
    return fill_sheets(labels, label_grid(paper), draw_label, title=gettext("Item labels"))


def draw_label(canvas: Canvas, label: Label, x: float, y: float) -> None:
    crop_marks(canvas, x, y, WIDTH, HEIGHT)
    draw_symbol(canvas, make_symbol(label.address), x + INSET, y + (HEIGHT - CODE_SIDE) / 2, CODE_SIDE)
    left, room = x + INSET + CODE_SIDE, WIDTH - CODE_SIDE - 2 * INSET - 1
    write(canvas, label.kind, left, y + 28.3, size=10, width=room, face=BOLD)
    write_lines(canvas, label.remark, left, y + 24.9, size=8, width=room, most=2)
    write(canvas, label.code[:4], left, y + 14.4, size=20, width=room, face=CODE)
    write(canvas, label.code[4:], left, y + 8.2, size=20, width=room, face=CODE)
    write(canvas, " · ".join(filter(None, (label.tag, label.office))), left, y + 3.3, size=7, width=room)
