"""A picture over time: lanes with stretches and marks on them, drawn as SVG on the server.

Not to scale: an hour on election night holds more than a week on a shelf, so a stretch is as wide as the logarithm of its
length. Left and width are percentages, so that the picture fits any screen without its words shrinking. Every stretch and
mark is a link with its words in it: they show when it is pointed at or reached with the keyboard.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import log2
from textwrap import shorten, wrap

from django.utils.formats import date_format
from django.utils.translation import gettext

from custody.web.tags import local_time, say_time

HEAD, LANE, SECOND, FOOT = 26, 46, 16, 60
"""Heights in pixels: of the dates on top, of a lane with its label, of a second line of words, of the words at the foot."""
THICK = {"holder": 14, "container": 12, "site": 16, "seal": 8, "finding": 18, "reading": 18}
LABEL_APART = 14
"""Dates stand at least so many percent apart; a phone has room for five."""
MARKS_APART = 8
"""Marks nearer than so many percent are drawn as one: a finger must be able to hit each (24 pixels of 320)."""
LINE = 48
"""Letters of a line at the foot that a phone has room for."""
ROOM, LETTER = 2.0, 2.4
"""Percent that words within a stretch take on a phone: at its ends, and each letter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A stretch of a lane, in percent of the width. `what`, `start` and `until` are its words; `inside` stands in it."""

    x: str
    width: str
    what: str
    start: str
    until: str
    href: str
    inside: str = ""

    @property
    def said(self) -> tuple[str, ...]:
        """The words at the foot, line by line."""
        return tuple(filter(None, (shorten(self.what, LINE, placeholder=" …"), self.start, self.until)))

    @property
    def title(self) -> str:
        return " ".join(filter(None, (f"{self.what}," if self.what else "", self.start, self.until)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A sign at one moment of a lane. `shape` names its form, `sign` what stands in it."""

    x: str
    shape: str
    sign: str
    what: str
    start: str
    href: str

    @property
    def title(self) -> str:
        return f"{self.what}, {self.start}"

    @property
    def said(self) -> tuple[str, ...]:
        """The words at the foot: two lines at most, and the time. SVG breaks no lines by itself."""
        return (*wrap(self.what, LINE, max_lines=2, placeholder=" …"), self.start)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """One lane; heights in pixels from the top of the picture."""

    kind: str
    label: str
    second: str
    label_y: int
    y: int
    bars: tuple[Bar, ...] = ()
    marks: tuple[Mark, ...] = ()

    @property
    def thick(self) -> int:
        return THICK[self.kind]

    @property
    def middle(self) -> int:
        return self.y + self.thick // 2

    @property
    def second_y(self) -> int:
        return self.label_y + SECOND

    @property
    def top(self) -> int:
        return self.y - 4

    @property
    def bottom(self) -> int:
        return self.y + self.thick + 4

    @property
    def words_y(self) -> int:
        """The foot of words within a stretch."""
        return self.middle + 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """The beginning of a day on which something happened; a label where there is room."""

    x: str
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """Everything that the template draws; `keys` explain the lanes' looks, `shapes` those of the marks."""

    title: str
    description: str
    summary: str
    height: int
    lanes: tuple[Lane, ...]
    ticks: tuple[Tick, ...]
    keys: tuple[str, ...] = ()
    shapes: tuple[tuple[str, str, str], ...] = ()

    @property
    def bottom(self) -> int:
        """Where the words at the foot begin."""
        return self.height - FOOT


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Where moments stand, from 1 to 99 percent: `times` in order, `edges` their places."""

    times: tuple[int, ...]
    edges: tuple[float, ...]
    timezone: str

    def place(self, instant: int) -> float:
        """Where a moment stands, also one between those that the scale is made of."""
        if instant <= self.times[0]:
            return self.edges[0]
        for (before, after), (left, right) in zip(pairwise(self.times), pairwise(self.edges), strict=True):
            if instant <= after:
                return left + (right - left) * (instant - before) / (after - before) if after > before else right
        return self.edges[-1]

    def say(self, instant: int) -> str:
        return say_time(instant, self.timezone)

    @property
    def span(self) -> str:
        return gettext("From %(from)s until %(until)s.") % {
            "from": self.say(self.times[0]),
            "until": self.say(self.times[-1]),
        }


def make_scale(times: Sequence[int], timezone: str) -> Scale:
    """A scale of moments in order, two at least."""
    weights = [log2(2 + max(0, after - before) / 60) for before, after in pairwise(times)]
    total, edges = sum(weights), [1.0]
    for weight in weights:
        edges.append(edges[-1] + 98 * weight / total)
    return Scale(times=tuple(times), edges=tuple(edges), timezone=timezone)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """What stood in one lane from one moment of a scale, by index, until another; `href` leads to where it began."""

    kind: str
    lane: str
    value: str
    start: int
    end: int
    href: str


def draw_bar(stretch: Stretch, scale: Scale, *, what: str, inside: str = "") -> Bar:
    left, right = scale.edges[stretch.start], scale.edges[stretch.end]
    start, end = scale.say(scale.times[stretch.start]), scale.say(scale.times[stretch.end])
    until = gettext("until now") if stretch.end == len(scale.times) - 1 else gettext("until %(end)s") % {"end": end}
    width = max(right - left, 0.4)
    return Bar(
        x=f"{left:.2f}",
        width=f"{width:.2f}",
        what=what,
        start=gettext("from %(start)s") % {"start": start},
        until=until,
        href=stretch.href,
        inside=inside if width >= ROOM + LETTER * len(inside) else "",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Noted:
    """Something to be marked: the graver, the lower its `rank`."""

    at: int
    rank: int
    shape: str
    what: str
    href: str


def draw_marks(noted: Iterable[Noted], scale: Scale) -> tuple[Mark, ...]:
    """Marks in order of time. Several at about the same time are one, of the gravest's shape, which leads to that one."""
    together: list[list[Noted]] = []
    first = -100.0
    for each in sorted(noted, key=lambda each: (each.at, each.rank)):
        place = scale.place(each.at)
        if place - first < MARKS_APART:
            together[-1].append(each)
        else:
            together.append([each])
            first = place
    return tuple(_mark(group, scale) for group in together)


def _mark(group: Sequence[Noted], scale: Scale) -> Mark:
    gravest = min(group, key=lambda each: each.rank)
    # At the very edge half of a sign would be cut off.
    place = min(max(scale.place(group[0].at), 3.0), 97.0)
    return Mark(
        x=f"{place:.2f}",
        shape=gravest.shape,
        sign=str(len(group)) if len(group) > 1 else "",
        what="; ".join(dict.fromkeys(each.what for each in group)),
        start=scale.say(group[0].at),
        href=gravest.href,
    )


def draw_ticks(scale: Scale) -> Iterator[Tick]:
    last_day, last_label = "", -100.0
    for instant, edge in zip(scale.times[:-1], scale.edges, strict=False):
        day = date_format(local_time(instant, scale.timezone), gettext("j M"))
        if day == last_day:
            continue
        label = day if edge - last_label >= LABEL_APART and edge <= 100 - LABEL_APART / 2 else ""
        last_day, last_label = day, edge if label else last_label
        yield Tick(x=f"{edge:.2f}", label=label)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A lane before its place in the picture is known."""

    kind: str
    label: str
    second: str = ""
    bars: tuple[Bar, ...] = ()
    marks: tuple[Mark, ...] = ()


def lay_out(rows: Iterable[Row]) -> tuple[tuple[Lane, ...], int]:
    """The lanes one below another, and the height of the whole."""
    lanes, top = [], HEAD
    for row in rows:
        below = SECOND if row.second else 0
        lanes.append(
            Lane(
                kind=row.kind,
                label=row.label,
                second=row.second,
                label_y=top + 14,
                y=top + 22 + below,
                bars=row.bars,
                marks=row.marks,
            )
        )
        top += LANE + below
    return tuple(lanes), top + FOOT


def describe(lanes: Iterable[Lane]) -> str:
    """The picture in words, lane by lane."""
    said = []
    for lane in lanes:
        titles = [bar.title for bar in lane.bars] + [mark.title for mark in lane.marks]
        said.append(f"{lane.label}: {'; '.join(titles)}.")
    return " ".join(said)
