"""Numbers of seals to practise with: what a maker's seal would have printed on it. A sheet of paper holds nothing shut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from custody.paper.qr import draw_symbol, make_symbol
from custody.paper.sheets import BOLD, CODE, MARGIN, SIZES, Grid, crop_marks, fill_sheets, write

WIDTH, HEIGHT = 46.0, 26.0
CODE_SIDE = 22.0
HEAD = 14.0
NO_SEAL = _("not a seal")
WARNING = _("Practice sheet. These are not seals: they hold nothing shut and prove nothing.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """The number of a seal, and where it was put on, if anywhere."""

    number: str
    maker: str
    place: str = ""


def practice_grid(paper: str) -> Grid:
    return Grid(paper=paper, width=WIDTH, height=HEIGHT, gap=2.0, head=HEAD)


def print_practice_sheet(numbers: Sequence[Number], *, paper: str) -> bytes:
    """Sheets of numbers, in the order given."""

    def heading(canvas: Canvas, sheet: int, sheets: int) -> None:
        width, height = SIZES[paper]
        canvas.setFillGray(0)
        canvas.rect(MARGIN * mm, (height - MARGIN - 10) * mm, (width - 2 * MARGIN) * mm, 10 * mm, stroke=0, fill=1)
        write(canvas, str(WARNING), MARGIN + 3, height - MARGIN - 6.6, size=11, width=width - 50, face=BOLD, grey=1)
        of_all = gettext("%(sheet)d of %(sheets)d") % {"sheet": sheet, "sheets": sheets}
        write(canvas, of_all, width - MARGIN - 18, height - MARGIN - 6.6, size=9, width=16, grey=1)

    return fill_sheets(numbers, practice_grid(paper), draw_number, title=gettext("Practice sheet"), heading=heading)


def draw_number(canvas: Canvas, number: Number, x: float, y: float) -> None:
    crop_marks(canvas, x, y, WIDTH, HEIGHT)
    draw_symbol(canvas, make_symbol(number.number), x + 1, y + (HEIGHT - CODE_SIDE) / 2, CODE_SIDE)
    left, room = x + CODE_SIDE + 1.5, WIDTH - CODE_SIDE - 2.5
    for line, group in enumerate(grouped(number.number)[:3]):
        write(canvas, group, left, y + HEIGHT - 8 - 5 * line, size=13, width=room, face=CODE)
    write(canvas, number.place or number.maker, left, y + 5.5, size=6.5, width=room)
    write(canvas, str(NO_SEAL), left, y + 2.5, size=6.5, width=room)


def grouped(number: str) -> list[str]:
    """A number in fours from its end."""
    first = len(number) % 4
    return [*filter(None, [number[:first]]), *(number[at : at + 4] for at in range(first, len(number), 4))]
