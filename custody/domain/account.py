"""The figures of a polling place's day: which of many counts is the opening one, which the closing one.

For each subject and figure by itself the opening figure is the last count that gives it before the polls opened, the closing
one the last that gives it from their closing until the first handoff after that of a controlled item out of the place. A
scanner's counters are read when it fails at noon as well: its closing figure is the last at the place from the
opening of the polls to that handoff. A count that corrects an earlier one so takes its place.

Common practice of the trade, no published source; what is compared with what is in `rules/figures.py`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from custody.domain.day import Course
from custody.domain.recorded import Position
from custody.domain.states import PlaceEvent
from custody.domain.vocabulary import COUNTERS, Figure, ItemKind


class Counted(NamedTuple):
    """A figure as it was written down, and the position of the count that says so."""

    value: int
    by: Position


class Counter(NamedTuple):
    """A scanner's counter from opening to closing."""

    opening: Counted
    closing: Counted

    @property
    def difference(self) -> int:
        return self.closing.value - self.opening.value


def figure_of(event: PlaceEvent, figure: Figure) -> int | None:
    return next((value for name, value in event.figures if name == figure), None)


def _given(course: Course, subject: str, figure: Figure) -> Iterator[tuple[Counted, PlaceEvent]]:
    """Every count that gives this figure of this subject, in custody order."""
    for position, event in course.counts:
        if event.subject == subject and (value := figure_of(event, figure)) is not None:
            yield Counted(value, position), event


def _has_left(course: Course, position: Position) -> bool:
    return course.left is not None and position > course.left


def opening_figure(course: Course, subject: str, figure: Figure) -> Counted | None:
    given = [counted for counted, _ in _given(course, subject, figure) if course.opened.has_before(counted.by)]
    return given[-1] if given else None


def _closing(course: Course, figure: Figure) -> list[Counted]:
    return [
        counted
        for counted, _ in _given(course, course.day.site, figure)
        if not course.closed.has_before(counted.by) and not _has_left(course, counted.by)
    ]


def closing_figure(course: Course, figure: Figure) -> Counted | None:
    """The closing figure of the place itself."""
    given = _closing(course, figure)
    return given[-1] if given else None


def first_closing(course: Course, figure: Figure) -> Position | None:
    """The first count that gave the place a closing figure."""
    given = _closing(course, figure)
    return given[0].by if given else None


def counters(course: Course) -> dict[str, dict[Figure, Counter]]:
    """The counters of every scanner that was counted at the place that day, as far as they have both figures."""
    return {
        scanner: {figure: counter for figure in COUNTERS if (counter := _counter(course, scanner, figure)) is not None}
        for scanner in _scanners_counted(course)
    }


def _scanners_counted(course: Course) -> list[str]:
    return sorted(
        {
            event.subject
            for position, event in course.counts
            if event.here
            and course.is_that_day(position[0])
            and any(figure_of(event, figure) is not None for figure in COUNTERS)
            and _is_scanner(course, event.subject)
        }
    )


def _is_scanner(course: Course, subject: str) -> bool:
    """By the register; a subject that it does not know counts as a scanner, since it has a counter."""
    known = course.kind(subject)
    return subject not in course.day.register.sites if known is None else known is ItemKind.SCANNER


def _counter(course: Course, scanner: str, figure: Figure) -> Counter | None:
    opening = opening_figure(course, scanner, figure) or _first_count(course, scanner, figure)
    closing = [
        counted
        for counted, event in _given(course, scanner, figure)
        if event.here and not course.opened.has_before(counted.by) and not _has_left(course, counted.by)
    ]
    return Counter(opening, closing[-1]) if opening and closing else None


def _first_count(course: Course, scanner: str, figure: Figure) -> Counted | None:
    """What a scanner opens with that was put to use later in the day: its first count, if that reads public 0."""
    first = next(_given(course, scanner, Figure.PUBLIC_COUNTER), None)
    if first is None or first[0].value != 0:
        return None
    value = figure_of(first[1], figure)
    return None if value is None else Counted(value, first[0].by)


def ballots_in(course: Course, container: str) -> Counted | None:
    """What is in a ballot container: its last count at the place since the polls opened."""
    given = [
        counted
        for counted, event in _given(course, container, Figure.BALLOTS_IN_CONTAINER)
        if event.here and not course.opened.has_before(counted.by)
    ]
    return given[-1] if given else None
