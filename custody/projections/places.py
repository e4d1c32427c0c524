"""The clocks of polling places as rows, for what waits on a phone without a network."""

from __future__ import annotations

from custody import store
from custody.domain.book import Book
from custody.domain.day import place_clock
from custody.domain.evaluate import place_day
from custody.projections.writing import insert_rows


def write_places(log: store.LogHead, book: Book) -> None:
    """A row for every place that the book looked at."""
    days = [place_day(book.register, book.tracks, scope) for scope in book.findings if scope.startswith("place:")]
    rows = [(log.id, day.election.code, day.site, place_clock(day)) for day in days if day is not None]
    insert_rows(
        "INSERT INTO custody_placerow (log_id, election, site, closed, last_here, deadline) VALUES {}"
        " ON CONFLICT (log_id, election, site) DO UPDATE SET"
        " closed = excluded.closed, last_here = excluded.last_here, deadline = excluded.deadline",
        [(*where, clock.closed, clock.last_here, clock.deadline) for *where, clock in rows],
    )
