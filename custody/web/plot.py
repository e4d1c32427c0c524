"""The hours of a polling place as a picture: ballots by the public counter against voters checked in.

Places along are percentages, so that the picture fits any screen; upwards they are pixels. The two are told apart by form: a
solid line with filled dots, a dashed one with open squares.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from django.urls import reverse
from django.utils.translation import gettext

from custody.queries.place_day import HourCount
from custody.web.tags import local_time, say_time, signed

TOP, PLOT, AXIS, FOOT = 30, 200, 42, 60
"""Heights in pixels: of the key, of the plot, of hours and differences below it, of the words at the foot."""
LEFT, RIGHT = 12.0, 96.0
"""Percent: where the first and the last moment stand."""
HOUR, MOST_HOURS = 3_600, 8
BARS = 4
APART = 8
"""Differences nearer than so many percent would run into one another on a phone: of two the larger stands."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One count: heights of its two figures, where given, and its words.

    `difference` stands below where they are not the same and there is room; the words have it in any case.
    """

    x: str
    ballots_y: int | None
    checked_y: int | None
    difference: str
    title: str
    said: tuple[str, ...]
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """From one point of a series to the next; `series` is `ballots` or `checked`."""

    series: str
    x1: str
    y1: int
    x2: str
    y2: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A line of the grid with its words: `at` in pixels from the top, or in percent from the left."""

    at: str
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    title: str
    height: int
    points: tuple[Point, ...]
    lines: tuple[Line, ...]
    levels: tuple[Rule, ...]
    hours: tuple[Rule, ...]
    turns: tuple[Rule, ...]

    @property
    def bottom(self) -> int:
        """Where the words at the foot begin."""
        return self.height - FOOT

    @property
    def floor(self) -> int:
        return TOP + PLOT

    @property
    def hours_y(self) -> int:
        return TOP + PLOT + 17

    @property
    def differences_y(self) -> int:
        return TOP + PLOT + 35


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    begin: int
    end: int
    most: int

    def x(self, instant: int) -> float:
        share = (instant - self.begin) / max(1, self.end - self.begin)
        return LEFT + (RIGHT - LEFT) * min(max(share, 0.0), 1.0)

    def y(self, value: int) -> int:
        return TOP + PLOT - round(PLOT * value / self.most)


def draw_plot(counts: Sequence[HourCount], *, opened: int, closed: int, timezone: str, title: str) -> Plot | None:
    """The plot of a place's counts, in order; without any, nothing. `opened` and `closed` are marked."""
    if not counts:
        return None
    frame = _Frame(
        begin=min(opened, counts[0].at),
        end=max(closed, counts[-1].at),
        most=_ceiling(max(value for each in counts for value in (each.ballots, each.checked_in) if value is not None)),
    )
    told = _told(counts, frame)
    return Plot(
        title=title,
        height=TOP + PLOT + AXIS + FOOT,
        points=tuple(_point(each, frame, timezone, told=each in told) for each in counts),
        lines=tuple(_lines(counts, frame)),
        levels=tuple(
            Rule(at=str(frame.y(value)), label=f"{value:,}") for value in range(0, frame.most + 1, frame.most // BARS)
        ),
        hours=tuple(_hours(frame, timezone)),
        turns=tuple(
            Rule(at=f"{frame.x(at):.2f}", label=label)
            for at, label in ((opened, gettext("opened")), (closed, gettext("closed")))
        ),
    )


def _ceiling(value: int) -> int:
    """A round figure that is no smaller, and that four goes into."""
    step = BARS
    while step * 10 < value:
        step *= 10
    return next(step * times for times in (1, 2, 3, 4, 5, 6, 8, 10) if step * times >= value)


def _told(counts: Sequence[HourCount], frame: _Frame) -> list[HourCount]:
    """The counts whose difference is written below the plot."""
    told: list[HourCount] = []
    for each in counts:
        if not each.difference:
            continue
        if not told or frame.x(each.at) - frame.x(told[-1].at) >= APART:
            told.append(each)
        elif abs(each.difference) > abs(told[-1].difference or 0):
            told[-1] = each
    return told


def _point(count: HourCount, frame: _Frame, timezone: str, *, told: bool) -> Point:
    at = say_time(count.at, timezone)
    figures = []
    if count.ballots is not None:
        by = (
            gettext("%(ballots)d on the scanners together") if count.added_up else gettext("public counter %(ballots)d")
        )
        figures.append(by % {"ballots": count.ballots})
    if count.checked_in is not None:
        figures.append(gettext("checked in %(voters)d") % {"voters": count.checked_in})
    difference = signed(count.difference) if count.difference else ""
    if difference:
        figures.append(gettext("difference %(difference)s") % {"difference": difference})
    return Point(
        x=f"{frame.x(count.at):.2f}",
        ballots_y=None if count.ballots is None else frame.y(count.ballots),
        checked_y=None if count.checked_in is None else frame.y(count.checked_in),
        difference=difference if told else "",
        title=f"{at}: {', '.join(figures)}",
        said=(at, ", ".join(figures)),
        href=reverse("entry", args=[count.entry]),
    )


def _lines(counts: Sequence[HourCount], frame: _Frame) -> Iterator[Line]:
    for series, name in (("ballots", "ballots"), ("checked", "checked_in")):
        given = [(each.at, value) for each in counts if (value := getattr(each, name)) is not None]
        for (at, value), (then, next_value) in pairwise(given):
            yield Line(
                series=series,
                x1=f"{frame.x(at):.2f}",
                y1=frame.y(value),
                x2=f"{frame.x(then):.2f}",
                y2=frame.y(next_value),
            )


def _hours(frame: _Frame, timezone: str) -> Iterator[Rule]:
    """Whole hours, as many as a phone has room for."""
    hours = range(-(-frame.begin // HOUR) * HOUR, frame.end + 1, HOUR)
    step = -(-len(hours) // MOST_HOURS) or 1
    for instant in hours[::step]:
        yield Rule(at=f"{frame.x(instant):.2f}", label=f"{local_time(instant, timezone):%H:%M}")
