"""QR codes on pages, drawn as SVG."""

from __future__ import annotations

from dataclasses import dataclass

from custody.paper.qr import Symbol, symbol_path


@dataclass(frozen=True, slots=True, kw_only=True)
class CodePicture:
    """A QR code for a page: side in modules with its quiet zone, and the path of its dark modules."""

    side: int
    path: str


def draw_code(symbol: Symbol) -> CodePicture:
    return CodePicture(side=symbol.modules, path=symbol_path(symbol))
