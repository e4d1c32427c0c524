"""Name cards of people, of the size ISO/IEC 7810 ID-1. A badge's secret comes from the page that enrols it, never from here.

The one exception are badges whose secrets are public anyhow, those of the demo; they say so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from custody.paper.qr import draw_symbol, make_symbol
from custody.paper.sheets import BOLD, CODE, FACE, Grid, crop_marks, fill_sheets, wrap, write

WIDTH, HEIGHT = 85.6, 53.98
"""ISO/IEC 7810, format ID-1."""
INSET = 4.0
CODE_SIDE = 32.0
CAUTION = "Personal. Whoever has a badge and its PIN signs in your name. Lost? Ring the office at once."
PUBLIC = "Rehearsal: this secret is public. Worth nothing in earnest."


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """What stands on one card. `secret` is a badge's text and `pin` its PIN, for badges whose secrets are public."""

    code: str
    name: str
    role: str
    place: str
    office: str
    affiliation: str = ""
    secret: str = ""
    pin: str = ""


def card_grid(paper: str) -> Grid:
    return Grid(paper=paper, width=WIDTH, height=HEIGHT, gap=0.0)


def print_cards(cards: Sequence[Card], *, paper: str) -> bytes:
    """Sheets of cards, in the order given."""
    return fill_sheets(cards, card_grid(paper), draw_card, title="Cards of people")


def draw_card(canvas: Canvas, card: Card, x: float, y: float) -> None:
    crop_marks(canvas, x, y, WIDTH, HEIGHT)
    left, room = x + INSET, WIDTH - 2 * INSET - (CODE_SIDE + 1 if card.secret else 0)
    top = y + HEIGHT
    write(canvas, card.office, left, top - 7, size=7.5, width=room, grey=0.25)
    name = wrap(card.name, face=BOLD, size=15, width=room)[:2]
    for line, text in enumerate(name):
        write(canvas, text, left, top - 15 - 6 * line, size=15, width=room, face=BOLD)
    below = top - 15 - 6 * len(name)
    write(canvas, card.role, left, below, size=10, width=room)
    write(canvas, card.place, left, below - 4.5, size=9, width=room)
    write(
        canvas,
        " · ".join(filter(None, (card.code, card.affiliation))),
        left,
        below - 9,
        size=8,
        width=room,
        face=FACE,
        grey=0.25,
    )
    if card.secret:
        draw_symbol(canvas, make_symbol(card.secret), x + WIDTH - CODE_SIDE - 2, top - CODE_SIDE - 2, CODE_SIDE)
        write(
            canvas,
            f"PIN {card.pin}",
            x + WIDTH - CODE_SIDE + 1,
            top - CODE_SIDE - 5.5,
            size=10,
            width=CODE_SIDE - 4,
            face=CODE,
        )
        canvas.setFillGray(0)
        canvas.rect(x * mm, y * mm, WIDTH * mm, 6.5 * mm, stroke=0, fill=1)
        write(canvas, PUBLIC, left, y + 2.2, size=8.5, width=WIDTH - 2 * INSET, face=BOLD, grey=1)
        return
    for line, text in enumerate(wrap(CAUTION, face=FACE, size=7.5, width=room)):
        write(canvas, text, left, y + 7 - 3.2 * line, size=7.5, width=room)
