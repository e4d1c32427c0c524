"""What it costs to print the labels of a county, as a ratio taken in one run: `python -m tests.benchmarks.bench_paper`.

Beside it stands the drawing library alone, putting as many black rectangles on as many pages. Seconds are of the processor, so
that a busy machine changes them little. It judges nothing.
"""

from __future__ import annotations

import io
from itertools import pairwise
from resource import RUSAGE_SELF, getrusage
from time import process_time

from reportlab.pdfgen.canvas import Canvas

from custody.domain.labels import dump_code
from custody.domain.vocabulary import ItemKind
from custody.paper.labels import Label, label_grid, print_labels
from custody.paper.qr import make_symbol

LABELS = 3_000


def main() -> None:
    numbers = range(1, 2 * LABELS)
    codes = [code for number in numbers if (code := dump_code(ItemKind.BALLOT_CONTAINER, number))][:LABELS]
    labels = [
        Label(code=code, address=f"HTTPS://CUSTODY.EXAMPLE/Q/{code}", kind="Ballot container", description="1 of 3")
        for code in codes
    ]
    start = process_time()
    for label in labels:
        make_symbol(label.address)
    symbols = process_time() - start
    bars = LABELS * _bars(labels[0].address)
    grid = label_grid("a4")
    bare = _bare(bars, pages=-(-LABELS // (grid.columns * grid.rows)))
    before = _peak()
    start = process_time()
    document = print_labels(labels, paper="a4")
    found = process_time() - start
    print(f"{LABELS:,} labels      {found:6.1f} s   {len(document) / 1e6:.1f} MB of PDF")
    print(f"  of that symbols {symbols:6.1f} s")
    print(f"{bars:,} bare rectangles {bare:6.1f} s   ratio {found / bare:.2f}")
    print(f"memory at its peak {_peak():.0f} MB, {before:.0f} MB before the labels")


def _bars(text: str) -> int:
    """Runs of dark modules in the rows of a symbol: each is one rectangle."""
    return sum(row[0] + sum(dark and not left for left, dark in pairwise(row)) for row in make_symbol(text).rows)


def _bare(bars: int, *, pages: int) -> float:
    start = process_time()
    canvas = Canvas(io.BytesIO(), pageCompression=1)
    for page in range(pages):
        for place in range(page, bars, pages):
            canvas.rect(place % 500, place % 700, 2.3, 2.3, stroke=0, fill=1)
        canvas.showPage()
    canvas.save()
    return process_time() - start


def _peak() -> float:
    return getrusage(RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    main()
