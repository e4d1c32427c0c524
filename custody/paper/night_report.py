"""The report at the end of a night on paper: every line with room for a pen, every page with its number and the caution."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from custody.paper.sheets import BOLD, CODE, FACE, SIZES, open_canvas, wrap, write

PAPERS = tuple(sorted(SIZES))
MARGIN, HEAD, FOOT = 14.0, 20.0, 24.0
SIZE, STEP = 8.5, 3.7
"""Points of the letters, and millimetres from line to line."""
GAP = 2.0
MOST_LINES = 40
"""Of one cell: what names a hundred items stands whole in the record, and here as far as a page can hold it."""
SHARES = (("mark", 0.10), ("what", 0.34), ("where", 0.23), ("held", 0.19), ("who", 0.14))
"""The columns, and which part of the width each takes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperLine:
    """One line; everything in words. `who` follows it up, empty for nobody yet."""

    mark: str
    what: str
    where: str
    since: str
    held: str
    who: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperSection:
    title: str
    lines: Sequence[PaperLine]


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperReport:
    """The whole report; `root` is the log's at `size` lines, in hex."""

    title: str
    office: str
    rehearsal: str
    as_of: str
    deadline: str
    origin: str
    size: int
    root: str
    signed: str
    sections: Sequence[PaperSection]


@dataclass(frozen=True, slots=True)
class _Block:
    """Something that stands together on a page: a section's head, or a line in its columns; `height` in millimetres."""

    height: float
    title: str = ""
    cells: tuple[tuple[str, ...], ...] = ()


def print_report(report: PaperReport, *, paper: str) -> bytes:
    """The PDF, on sheets of that size."""
    width, height = SIZES[paper]
    columns = [(name, share * (width - 2 * MARGIN)) for name, share in SHARES]
    pages = list(_pages(report, columns, room=height - HEAD - FOOT - 2 * 8))
    file = io.BytesIO()
    canvas = open_canvas(file, paper, title=f"{report.title}, {report.as_of}")
    for number, blocks in enumerate(pages, 1):
        _frame(canvas, report, number, len(pages), width, height)
        y = height - 8 - HEAD
        for block in blocks:
            _draw(canvas, block, columns, y, width)
            y -= block.height
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def _pages(report: PaperReport, columns: Sequence[tuple[str, float]], *, room: float) -> Iterator[list[_Block]]:
    """Blocks in pages. A section's head is never the last on a page, and stands again where its lines go on."""
    page: list[_Block] = []
    for section in report.sections:
        blocks = [_block(line, columns) for line in section.lines]
        head = _Block(14.0 if blocks else 9.0, title=f"{section.title}: {len(section.lines)}")
        if page and _height(page) + _height([head, *blocks[:1]]) > room:
            yield page
            page = []
        page.append(head)
        for block in blocks:
            if _height(page) + block.height > room and len(page) > 1:
                yield page
                page = [_Block(14.0, title=_("%(title)s (continued)") % {"title": section.title})]
            page.append(block)
    yield page


def _height(page: Sequence[_Block]) -> float:
    return sum(block.height for block in page)


def _block(line: PaperLine, columns: Sequence[tuple[str, float]]) -> _Block:
    texts = {"mark": line.mark, "what": line.what, "where": line.where, "held": line.held, "who": line.who}
    cells = [tuple(wrap(texts[name], face=FACE, size=SIZE, width=width - GAP)) for name, width in columns]
    cells = [cell if len(cell) <= MOST_LINES else (*cell[: MOST_LINES - 1], "…") for cell in cells]
    place = next(at for at, (name, _) in enumerate(columns) if name == "where")
    cells[place] += tuple(wrap(line.since, face=FACE, size=SIZE, width=columns[place][1] - GAP))
    return _Block(max(2, *map(len, cells)) * STEP + GAP, cells=tuple(cells))


def _draw(canvas: Canvas, block: _Block, columns: Sequence[tuple[str, float]], y: float, width: float) -> None:
    if block.title:
        write(canvas, block.title, MARGIN, y - 6.5, size=12, width=width - 2 * MARGIN, face=BOLD)
        x = MARGIN
        for (_name, column), word in zip(columns, _column_heads() if block.height > 9 else (), strict=False):
            write(canvas, word, x, y - 11.5, size=7, width=column - GAP, grey=0.3)
            x += column
        _rule(canvas, y - block.height + 1, width, thick=0.8)
        return
    x = MARGIN
    for at, (lines, (_name, column)) in enumerate(zip(block.cells, columns, strict=False)):
        for line, text in enumerate(lines):
            write(
                canvas,
                text,
                x,
                y - (line + 1) * STEP + 0.6,
                size=SIZE,
                width=column - GAP,
                face=BOLD if not at else FACE,
            )
        x += column
    _rule(canvas, y - block.height + 0.6, width, thick=0.25)


def _column_heads() -> tuple[str, ...]:
    return (_("Mark"), _("What"), _("Where, since"), _("With"), _("Followed up by"))


def _rule(canvas: Canvas, y: float, width: float, *, thick: float) -> None:
    canvas.setStrokeGray(0)
    canvas.setLineWidth(thick)
    canvas.line(MARGIN * mm, y * mm, (width - MARGIN) * mm, y * mm)


def _frame(canvas: Canvas, report: PaperReport, number: int, pages: int, width: float, height: float) -> None:
    """Head and foot of a page."""
    room = width - 2 * MARGIN
    top = height - 8
    write(canvas, f"{report.office}. {report.title}", MARGIN, top - 6, size=13, width=room, face=BOLD)
    told = _("As of %(now)s. Everything is due back by %(deadline)s.")
    write(canvas, told % {"now": report.as_of, "deadline": report.deadline}, MARGIN, top - 11, size=9, width=room)
    said = _("A line goes when a signed entry on record settles it, and in no other way.")
    if report.rehearsal:
        rehearsal = _("REHEARSAL “%(name)s”: nothing here is in earnest.") % {"name": report.rehearsal}
        said = f"{rehearsal} {said}"
    write(canvas, said, MARGIN, top - 15.5, size=8.5, width=room, face=BOLD if report.rehearsal else FACE)
    bottom = 8.0
    _rule(canvas, bottom + 20, width, thick=0.4)
    held = _("Log %(origin)s, %(size)d lines, checkpoint %(signed)s; root of these lines:")
    log = held % {"origin": report.origin, "size": report.size, "signed": report.signed}
    write(canvas, log, MARGIN, bottom + 16, size=7.5, width=room)
    write(canvas, report.root, MARGIN, bottom + 12.5, size=7.5, width=room, face=CODE)
    for line, text in enumerate(_cautions()):
        write(canvas, text, MARGIN, bottom + 8.5 - 3.2 * line, size=7, width=room - 26, grey=0.2)
    page = _("page %(number)d of %(pages)d") % {"number": number, "pages": pages}
    write(canvas, page, width - MARGIN - 24, bottom + 2.1, size=9, width=24, face=BOLD)


def _cautions() -> tuple[str, ...]:
    return (
        _("This log supports an office’s procedures and does not replace them: law and local directives decide."),
        _("A matching seal number does not prove that nothing was opened. A finding is a question, not a verdict."),
        _("Heavy cases: lift with two. Never chase a vehicle."),
    )
