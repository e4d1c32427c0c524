"""A seal's life as a picture: a lane for the time before it went on, and one for each point at which it was on record."""

from __future__ import annotations

from collections.abc import Sequence

from django.urls import reverse
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from custody.queries.seals import SealEvent, SealHistory
from custody.web import words
from custody.web.timeline import (
    Mark,
    Noted,
    Picture,
    Row,
    Scale,
    Stretch,
    describe,
    draw_bar,
    draw_marks,
    draw_ticks,
    lay_out,
    make_scale,
)

SHAPES = ("wrong", "void", "removed", "applied", "handed_over", "read")
"""The forms of marks, the gravest first."""
SHAPE_WORDS = {
    "wrong": _("not as it should be"),
    "void": _("reported void"),
    "removed": _("taken off"),
    "applied": _("put on"),
    "handed_over": _("handed over loose"),
    "read": _("read and intact"),
}
WORDS = {
    "handed_over": _("Handed over loose"),
    "applied": _("Put on"),
    "read": _("Read"),
    "replaced": _("Another was put on in its place"),
    "removed": _("Taken off"),
    "void": _("Reported void"),
}
ENDS = ("removed", "replaced")


def say_event(event: SealEvent) -> str:
    """What happened, in a few words, with the state where it is not intact and the number where another was read."""
    said = str(WORDS[event.what])
    if event.state not in (None, "intact"):
        said += f": {words.word(event.state)}"
    if event.read_as:
        said += gettext(", as %(number)s") % {"number": event.read_as}
    return said


def shape_of(event: SealEvent) -> str:
    if event.state not in (None, "intact") or (event.what == "read" and event.read_as):
        return "wrong"
    return "removed" if event.what == "replaced" else event.what


def draw_seal(history: SealHistory, *, now: int, timezone: str) -> Picture | None:
    """The band of a seal's events, in order; without events, nothing."""
    events = history.events
    if not events:
        return None
    scale = make_scale([*(each.at for each in events), max(now, events[-1].at)], timezone)
    loose = [each for each in events if each.item is None]
    rows = [Row(kind="reading", label=gettext("not on anything"), marks=_marks(loose, scale))] if loose else []
    for item, point in dict.fromkeys((each.item, each.point or "") for each in events if each.item is not None):
        rows += _rows_of_point(history, item, point, scale)
    lanes, height = lay_out(rows)
    reads = sum(each.what == "read" for each in events)
    used = [shape for shape in SHAPES if any(shape_of(each) == shape for each in events)]
    return Picture(
        title=gettext("Seal %(number)s over time") % {"number": history.number},
        description=f"{scale.span} {describe(lanes)}",
        summary=ngettext("Read %(count)d time.", "Read %(count)d times.", reads) % {"count": reads},
        height=height,
        lanes=lanes,
        ticks=tuple(draw_ticks(scale)),
        keys=(gettext("hatched: in place on record"),) if len(rows) > len(loose[:1]) else (),
        shapes=tuple((shape, shape, str(SHAPE_WORDS[shape])) for shape in used),
    )


def _rows_of_point(history: SealHistory, item: str, point: str, scale: Scale) -> list[Row]:
    """Two lanes for a point: the stretches for which the seal was in place there, and what was seen of it."""
    here = [(at, each) for at, each in enumerate(history.events) if (each.item, each.point or "") == (item, point)]
    where = {"item": item, "point": point}
    bars = tuple(
        draw_bar(each, scale, what=gettext("in place on %(item)s at %(point)s") % where)
        for each in _stretches(here, len(scale.times) - 1, is_now=(item, point) in history.in_place)
    )
    label = gettext("on %(item)s at %(point)s") % where
    seen = Row(kind="reading", label=gettext("seen there"), marks=_marks([each for _, each in here], scale))
    return [Row(kind="seal", label=label, bars=bars), seen]


def _stretches(here: Sequence[tuple[int, SealEvent]], last: int, *, is_now: bool) -> list[Stretch]:
    """From where it was first seen in place until it was taken off, was gone, or was last seen."""
    found: list[Stretch] = []
    start: tuple[int, SealEvent] | None = None

    def end(index: int) -> None:
        if start is not None:
            href = reverse("entry", args=[start[1].entry])
            found.append(Stretch(kind="seal", lane="", value="", start=start[0], end=index, href=href))

    for index, event in here:
        if event.what in ENDS or event.state == "missing":
            end(index)
            start = None
        elif start is None and not event.read_as:
            start = index, event
    end(last if is_now else here[-1][0])
    return found


def _marks(events: Sequence[SealEvent], scale: Scale) -> tuple[Mark, ...]:
    noted = [
        Noted(
            at=each.at,
            rank=SHAPES.index(shape_of(each)),
            shape=shape_of(each),
            what=say_event(each),
            href=reverse("entry", args=[each.entry]),
        )
        for each in events
    ]
    return draw_marks(noted, scale)
