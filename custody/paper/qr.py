"""QR codes (ISO/IEC 18004) as vectors, of a size that scans from a worn label in bad light."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import qrcode
from qrcode.constants import ERROR_CORRECT_H, ERROR_CORRECT_L, ERROR_CORRECT_Q
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

QUIET_MODULES = 4
"""ISO/IEC 18004, 6.3.8: the quiet zone around a symbol."""
LEAST_MODULE = 0.5
"""Millimetres of one module at least, for a phone at arm's length (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Symbol:
    """A QR code: its rows of modules, dark ones true, without quiet zone."""

    text: str
    version: int
    rows: tuple[tuple[bool, ...], ...]

    @property
    def modules(self) -> int:
        """Modules of one side, quiet zone included."""
        return len(self.rows) + 2 * QUIET_MODULES

    def module_size(self, side: float) -> float:
        """Millimetres of one module where the whole, with its quiet zone, is `side` wide."""
        return side / self.modules


def make_symbol(text: str) -> Symbol:
    """The smallest symbol of a text at level Q, which bears a quarter of it being covered; at level H where that is no larger.

    Capital letters, digits and `$%*+-./:` alone take fewer modules than any other text: addresses are written in capitals.
    """
    plain, stronger = _begin(text, ERROR_CORRECT_Q), _begin(text, ERROR_CORRECT_H)
    best = stronger if stronger.best_fit() == plain.best_fit() else plain
    return _finish(text, best)


def make_dense_symbol(text: str) -> Symbol:
    """The smallest symbol of a longer text, at level L: for a screen or a fresh print, not for a label that wears."""
    code = _begin(text, ERROR_CORRECT_L)
    code.best_fit()
    return _finish(text, code)


def symbol_path(symbol: Symbol) -> str:
    """The dark modules as an SVG path, one unit a module, quiet zone included."""
    return "".join(f"M{column} {row}h{length}v1h-{length}z" for row, column, length in _bars(symbol))


def _finish(text: str, code: qrcode.QRCode[Any]) -> Symbol:
    # The mask is searched for, as the standard asks (7.8.3), though that takes most of the time.
    code.make(fit=False)
    rows = tuple(tuple(bool(cell) for cell in row) for row in code.modules)
    return Symbol(text=text, version=code.version, rows=rows)


def _begin(text: str, level: int) -> qrcode.QRCode[Any]:
    code: qrcode.QRCode[Any] = qrcode.QRCode(error_correction=level, border=0)
    code.add_data(text)
    return code


def draw_symbol(canvas: Canvas, symbol: Symbol, x: float, y: float, side: float) -> None:
    """Draw a symbol with its quiet zone into a square of `side` millimetres, its lower left corner at `x`, `y`.

    Raises `ValueError` where modules would be too small to be relied on.
    """
    module = symbol.module_size(side)
    if module < LEAST_MODULE:
        raise ValueError(f"modules of {module:.2f} mm are too small; {LEAST_MODULE} mm is the least")
    path = canvas.beginPath()
    for row, column, length in _bars(symbol):
        top = y + side - (row + 1) * module
        path.rect((x + column * module) * mm, top * mm, length * module * mm, module * mm)
    canvas.setFillGray(1)
    canvas.rect(x * mm, y * mm, side * mm, side * mm, stroke=0, fill=1)
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)


def _bars(symbol: Symbol) -> Iterator[tuple[int, int, int]]:
    """Row, column and length of every run of dark modules, the quiet zone included: one bar, no hairline within it."""
    for row, cells in enumerate(symbol.rows):
        start = None
        for column, dark in enumerate((*cells, False)):
            if dark and start is None:
                start = column
            elif not dark and start is not None:
                yield QUIET_MODULES + row, QUIET_MODULES + start, column - start
                start = None
