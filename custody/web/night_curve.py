"""The curve of a night as a picture, and as a table: the share of places in and of items back against time.

Lines are drawn in a picture of their own that is stretched to whatever width there is; words stand beside it in percent of the
width, so that they do not shrink. Solid, dashed and dotted tell the lines apart without colour.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from django.utils.formats import date_format
from django.utils.translation import gettext

from custody.queries.night_curve import Curve
from custody.queries.places import CurrentElection
from custody.web.tags import local_time, say_zone

HOUR = 3600
LEAST_HOURS, MOST_HOURS = 2, 24
WIDTH, TOP, HEIGHT = 1000, 16, 200
"""Of the stretched picture: its units across, and pixels from the top and down."""
APART = 17
"""Pixels at least between the words at the ends of two lines."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """`points` of a polyline in the stretched picture; `label` stands at `y` pixels, at the line's end."""

    kind: str
    points: str
    label: str
    y: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One moment of the table: local time, and how much was back by then; `before` is the share of the election before."""

    hours: str
    time: str
    places: int
    items: int
    before: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NightCurve:
    description: str
    lines: tuple[Line, ...]
    ticks: tuple[tuple[str, str, int], ...]
    rows: tuple[Row, ...]
    all_places: int
    all_items: int
    before: str


def draw_curve(curves: Sequence[Curve], *, now: int, election: CurrentElection, timezone: str) -> NightCurve | None:
    """The curve of the election that is on, with that of the one before where there is one; `None` before anything is owed."""
    if not curves or not curves[0].all_items:
        return None
    curve, before = curves[0], curves[1] if len(curves) > 1 else None
    gone = min(now, election.return_deadline) - election.polls_close
    ends = [gone, *(each[-1][0] for each in (curve.items, before.items if before else ()) if each)]
    hours = max(LEAST_HOURS, min(MOST_HOURS, -(-max(ends) // HOUR)))
    until = min(max(now - election.polls_close, 0), hours * HOUR)
    counted = list(accumulate(count for _, count in curve.items))
    places = _Counted(list(curve.places), list(range(1, len(curve.places) + 1)), curve.all_places)
    items = _Counted([at for at, _ in curve.items], counted, curve.all_items)
    old = _Counted(list(before.places), list(range(1, len(before.places) + 1)), before.all_places) if before else None
    lines = [
        _line("places", places, hours, until, gettext("places %(share)d %%")),
        _line("items", items, hours, until, gettext("items %(share)d %%")),
    ]
    if before and old:
        lines.append(_line("before", old, hours, hours * HOUR, gettext("before %(share)d %%")))
    rows = tuple(_rows(election.polls_close, places, items, old, until, hours, timezone))
    return NightCurve(
        description=gettext(
            "Since the polls closed: %(places)d of %(all_places)d places are in, %(items)d of %(all_items)d items are back."
        )
        % {
            "places": places.at(until),
            "all_places": curve.all_places,
            "items": items.at(until),
            "all_items": curve.all_items,
        },
        lines=tuple(_apart(lines)),
        ticks=tuple(_ticks(election.polls_close, hours, timezone)),
        rows=rows,
        all_places=curve.all_places,
        all_items=curve.all_items,
        before=before.name if before else "",
    )


@dataclass(frozen=True, slots=True)
class _Counted:
    """So many by each of these seconds, of so many in all."""

    times: list[int]
    counts: list[int]
    whole: int

    def at(self, second: int) -> int:
        index = bisect_right(self.times, second)
        return self.counts[index - 1] if index else 0

    def share(self, second: int) -> float:
        return self.at(second) / self.whole if self.whole else 0


def _line(kind: str, counted: _Counted, hours: int, until: int, label: str) -> Line:
    """A line of steps, no more than one for each unit of the picture's width."""
    span, height = hours * HOUR, -1.0
    points: list[str] = []
    for unit in range(0, WIDTH * until // span + 1, 2):
        y = 100 - 100 * counted.share(unit * span // WIDTH)
        if y != height:
            points += [f"{unit},{height:.1f}"] if points else []
            points.append(f"{unit},{y:.1f}")
            height = y
    end = 100 - 100 * counted.share(until)
    points += [f"{WIDTH * until // span},{height:.1f}", f"{WIDTH * until // span},{end:.1f}"]
    said = label % {"share": int(100 * counted.share(until))}
    return Line(kind=kind, points=" ".join(points), label=said, y=round(TOP + HEIGHT * end / 100))


def _apart(lines: list[Line]) -> list[Line]:
    """The labels moved down until none covers another, and then up again from the bottom."""
    ordered = sorted(lines, key=lambda each: each.y)
    heights: list[int] = []
    for each in ordered:
        heights.append(max(each.y, heights[-1] + APART if heights else 0))
    for index in reversed(range(len(heights))):
        most = TOP + HEIGHT if index == len(heights) - 1 else heights[index + 1] - APART
        heights[index] = min(heights[index], most)
    moved = {line.kind: y for line, y in zip(ordered, heights, strict=True)}
    return [Line(kind=each.kind, points=each.points, label=each.label, y=moved[each.kind] + 5) for each in lines]


def _ticks(closed: int, hours: int, timezone: str) -> list[tuple[str, str, int]]:
    """`(label, x in percent of the plot, x in units)` of every full hour, or every third of a long night."""
    step = 1 if hours <= 6 else 3
    return [
        (
            date_format(local_time(closed + hour * HOUR, timezone), "H:i"),
            f"{100 * hour / hours:.2f}",
            WIDTH * hour // hours,
        )
        for hour in range(0, hours + 1, step)
    ]


def _rows(
    closed: int, places: _Counted, items: _Counted, old: _Counted | None, until: int, hours: int, timezone: str
) -> list[Row]:
    step = HOUR // 2 if hours <= 4 else HOUR
    rows = []
    for second in [*range(0, until, step), until]:
        local = local_time(closed + second, timezone)
        rows.append(
            Row(
                hours=f"{second // HOUR}:{second % HOUR // 60:02d}",
                time=f"{date_format(local, 'H:i')} {say_zone(local)}",
                places=places.at(second),
                items=items.at(second),
                before=f"{old.at(second)}/{old.whole}" if old else "",
            )
        )
    return rows
