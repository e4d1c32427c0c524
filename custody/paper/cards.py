"""Name cards of people, of the size ISO/IEC 7810 ID-1. A badge's secret comes from the page that enrols it, never from here.

The one exception are badges whose secrets are public anyhow, those of the demo; they say so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from custody.paper.qr import draw_symbol, make_symbol
from custody.paper.sheets import BOLD, CODE, Grid, crop_marks, fill_sheets, write, write_lines

WIDTH, HEIGHT = 85.6, 53.98
"""ISO/IEC 7810, format ID-1."""
INSET = 4.0
CODE_SIDE = 32.0
CAUTION = _("Personal. Whoever has a badge and its PIN signs in your name. Lost? Ring the office at once.")
SPACE = _("Space for the badge that the enrolment page prints")
PUBLIC = _("REHEARSAL · this secret is public · worth nothing in earnest")


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
    return Grid(paper=paper, width=WIDTH, height=HEIGHT)


def print_cards(cards: Sequence[Card], *, paper: str) -> bytes:
    """Sheets of cards, in the order given."""
    return fill_sheets(cards, card_grid(paper), draw_card, title=str(_("Cards of people")))


def draw_card(canvas: Canvas, card: Card, x: float, y: float) -> None:
    crop_marks(canvas, x, y, WIDTH, HEIGHT)
    _draw_person(canvas, card, x + INSET, y + HEIGHT, room=WIDTH - CODE_SIDE - INSET - 4)
    right, top = x + WIDTH - CODE_SIDE - 2, y + HEIGHT - CODE_SIDE - 2
    if card.secret:
        draw_symbol(canvas, make_symbol(card.secret), right, top, CODE_SIDE)
        write(canvas, f"PIN {card.pin}", right + 3.6, top - 3.6, size=11, width=CODE_SIDE - 4, face=CODE)
        write(canvas, grouped(card.secret), x + INSET, y + 10, size=8, width=WIDTH - 2 * INSET, face=CODE)
        canvas.setFillGray(0)
        canvas.rect(x * mm, y * mm, WIDTH * mm, 6.5 * mm, stroke=0, fill=1)
        write(canvas, str(PUBLIC), x + INSET, y + 2.3, size=8.5, width=WIDTH - 2 * INSET, face=BOLD, grey=1)
        return
    canvas.setDash(2, 2)
    canvas.rect(right * mm, top * mm, CODE_SIDE * mm, CODE_SIDE * mm, stroke=1, fill=0)
    canvas.setDash()
    write_lines(canvas, str(SPACE), right + 2, top + CODE_SIDE / 2, size=7, width=CODE_SIDE - 4, most=3, grey=0.25)
    write_lines(canvas, str(CAUTION), x + INSET, y + 7.5, size=8, width=WIDTH - 2 * INSET, most=2)


def _draw_person(canvas: Canvas, card: Card, left: float, top: float, *, room: float) -> None:
    write(canvas, card.office, left, top - 7, size=8, width=room, grey=0.25)
    below = write_lines(canvas, card.name, left, top - 14.5, size=16, width=room, most=2, face=BOLD)
    write(canvas, card.role, left, below, size=11, width=room)
    below = write_lines(canvas, card.place, left, below - 5, size=9, width=room, most=2)
    person = " · ".join(filter(None, (card.code, card.affiliation)))
    write(canvas, person, left, below - 0.6, size=8, width=room, grey=0.25)


def grouped(secret: str) -> str:
    """A badge's text with its symbols in fives, for typing."""
    head, person, symbols = secret.split(":")
    return f"{head}:{person}: " + "-".join(symbols[at : at + 5] for at in range(0, len(symbols), 5))
