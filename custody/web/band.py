"""One item's custody as a picture: lanes over time for who held it, what it was in, and the seal at each point.

Not to scale: an hour on election night holds more than a week on a shelf, so a stretch is as wide as the logarithm of its
length. Left and width are percentages, so that the picture fits any screen without its words shrinking.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import log2
from typing import Literal

from django.utils.formats import date_format
from django.utils.translation import gettext, ngettext

from custody.queries.history import Event
from custody.queries.outstanding import Holder
from custody.web.tags import local_time, say_time

HEAD, LANE, PEOPLE = 26, 44, 16
"""Heights in pixels: of the dates on top, of a lane with its label, and of a second line for people."""

SEPARATOR = "\n"
"""Between a holder's role and people, which make one lane together."""

THICK = {"holder": 14, "container": 12, "seal": 8}
LABEL_APART = 14
"""Dates stand at least so many percent apart; a phone has room for five."""

Kind = Literal["holder", "container", "seal"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A stretch of a lane, in percent of the width."""

    x: str
    width: str
    title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """One lane; heights in pixels from the top of the picture."""

    kind: Kind
    label: str
    people: str
    label_y: int
    y: int
    thick: int
    bars: tuple[Bar, ...]

    @property
    def middle(self) -> int:
        return self.y + self.thick // 2

    @property
    def people_y(self) -> int:
        return self.label_y + PEOPLE

    @property
    def top(self) -> int:
        return self.y - 4

    @property
    def bottom(self) -> int:
        return self.y + self.thick + 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """The beginning of a day on which something happened; a label where there is room."""

    x: str
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    title: str
    description: str
    summary: str
    height: int
    lanes: tuple[Lane, ...]
    ticks: tuple[Tick, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """What stood in one lane from one event, by index, until another."""

    kind: Kind
    lane: str
    value: str
    start: int
    end: int


def draw_band(
    code: str, events: Sequence[Event], *, now: int, timezone: str, holder_words: Callable[[Holder], tuple[str, str]]
) -> Band | None:
    """The band of an item's events, in order; without events, nothing."""
    if not events:
        return None
    times = [each.at for each in events] + [max(now, events[-1].at)]
    edges = _edges(times)
    stretches = _stretches(events, holder_words)
    lanes = _lanes(stretches, times, edges, timezone)
    holders = len({each.lane for each in stretches if each.kind == "holder"})
    seals = len({each.value for each in stretches if each.kind == "seal"})
    summary = ngettext("Held by %(holders)d party", "Held by %(holders)d parties in turn", holders) % {
        "holders": holders
    }
    summary += ngettext(", under %(seals)d seal.", ", under %(seals)d seals.", seals) % {"seals": seals}
    between = {"from": say_time(times[0], timezone), "until": say_time(times[-1], timezone)}
    return Band(
        title=gettext("Custody of %(code)s over time") % {"code": code},
        description=gettext("From %(from)s until %(until)s.") % between
        + " "
        + " ".join(f"{lane.label}: {'; '.join(bar.title for bar in lane.bars)}." for lane in lanes),
        summary=summary,
        height=lanes[-1].bottom + 12 if lanes else HEAD,
        lanes=tuple(lanes),
        ticks=tuple(_ticks(times, edges, timezone)),
    )


def _edges(times: Sequence[int]) -> list[float]:
    """Where each event stands, from 1 to 99 percent."""
    weights = [log2(2 + max(0, after - before) / 60) for before, after in pairwise(times)]
    total, edges = sum(weights), [1.0]
    for weight in weights:
        edges.append(edges[-1] + 98 * weight / total)
    return edges


def _stretches(events: Sequence[Event], holder_words: Callable[[Holder], tuple[str, str]]) -> list[Stretch]:
    found: list[Stretch] = []
    running: dict[tuple[Kind, str], tuple[str, int]] = {}
    for index, event in enumerate(events):
        standing: dict[tuple[Kind, str], str] = {}
        after = event.after
        if after.holder is not None:
            words = SEPARATOR.join(holder_words(after.holder))
            standing["holder", words] = words
        if after.container:
            standing["container", after.container] = after.container
        standing |= {("seal", point): number for point, number in sorted(after.seals.items())}
        for where, (value, start) in list(running.items()):
            if standing.get(where) != value:
                found.append(Stretch(kind=where[0], lane=where[1], value=value, start=start, end=index))
                del running[where]
        for where, value in standing.items():
            running.setdefault(where, (value, index))
    found += [
        Stretch(kind=kind, lane=lane, value=value, start=start, end=len(events))
        for (kind, lane), (value, start) in running.items()
    ]
    return sorted(found, key=lambda each: each.start)


def _lanes(stretches: Iterable[Stretch], times: Sequence[int], edges: Sequence[float], timezone: str) -> list[Lane]:
    by_lane: dict[tuple[Kind, str], list[Stretch]] = {}
    for each in stretches:
        by_lane.setdefault((each.kind, each.lane), []).append(each)
    order: list[Kind] = ["holder", "container", "seal"]
    lanes: list[Lane] = []
    top = HEAD
    for kind, name in sorted(by_lane, key=lambda each: order.index(each[0])):
        bars = [_bar(each, times, edges, timezone) for each in by_lane[kind, name]]
        numbers = ", ".join(dict.fromkeys(each.value for each in by_lane[kind, name]))
        who, _, people = name.partition(SEPARATOR)
        labels = {
            "holder": who,
            "container": gettext("in %(container)s") % {"container": name},
            "seal": gettext("seal at %(point)s: %(numbers)s") % {"point": name, "numbers": numbers},
        }
        second = PEOPLE if kind == "holder" else 0
        lanes.append(
            Lane(
                kind=kind,
                label=labels[kind],
                people=people,
                label_y=top + 14,
                y=top + 21 + second,
                thick=THICK[kind],
                bars=tuple(bars),
            )
        )
        top += LANE + second
    return lanes


def _bar(stretch: Stretch, times: Sequence[int], edges: Sequence[float], timezone: str) -> Bar:
    left, right = edges[stretch.start], edges[stretch.end]
    start, end = say_time(times[stretch.start], timezone), say_time(times[stretch.end], timezone)
    until = gettext("until now") if stretch.end == len(times) - 1 else gettext("until %(end)s") % {"end": end}
    what = f"{stretch.value}, " if stretch.kind == "seal" else ""
    title = gettext("%(what)sfrom %(start)s %(until)s") % {"what": what, "start": start, "until": until}
    return Bar(x=f"{left:.2f}", width=f"{max(right - left, 0.4):.2f}", title=title)


def _ticks(times: Sequence[int], edges: Sequence[float], timezone: str) -> Iterable[Tick]:
    last_day, last_label = "", -100.0
    for instant, edge in zip(times[:-1], edges, strict=False):
        day = date_format(local_time(instant, timezone), gettext("j M"))
        if day == last_day:
            continue
        label = day if edge - last_label >= LABEL_APART and edge <= 100 - LABEL_APART / 2 else ""
        last_day, last_label = day, edge if label else last_label
        yield Tick(x=f"{edge:.2f}", label=label)
