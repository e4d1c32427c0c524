"""Figures against one another: ballots, counters, containers; and devices left where they should not be.

Every comparison is between numbers that people wrote down at different times, often in different rooms. A difference says that
one of them is wrong, or that something is missing; which of the two is for people to find out. The counts of a ballot
account are on every published form for it (chief judge's worksheets, statements of the vote); which figures are compared
is common practice of the trade, no published source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from custody.domain.account import Counted, ballots_in, closing_figure, counters, figure_of, opening_figure
from custody.domain.acts import Act
from custody.domain.day import Course, boxes_of_day, day_finding, read_course
from custody.domain.entries import Count
from custody.domain.entry_findings import entry_finding
from custody.domain.findings import Finding, Severity
from custody.domain.recorded import Moment, Position
from custody.domain.scopes import PlaceDay
from custody.domain.vocabulary import Figure

COUNT_DIFFERS = "count-differs"


def memory_left_in(day: PlaceDay) -> Iterator[Finding]:
    """After the polls closed at its place, a scanner is sealed or handed over while a memory device is packed in it.

    It arises at the first such entry, wherever that is made, unless policy lets devices stay in. A scanner that served two
    places has its place where it came last. Common practice, no published source.
    """
    course = read_course(day)
    known: set[str] = set()
    for position, event in day.events:
        if not event.loaded or not course.closed.has_after(position) or day.policy(position[0]).memory_stays_in:
            continue
        for scanner in event.loaded:
            if scanner not in known:
                known.add(scanner)
                yield day_finding(
                    course,
                    "memory-left-in",
                    Severity.CRITICAL,
                    course.at_entry(position),
                    scope=(course.election, scanner),
                    items=[scanner],
                )


def set_short(day: PlaceDay) -> Iterator[Finding]:
    """The ballot containers with a seal of the day are fewer or more than the closing count says.

    Counting by part, "n of N", is common practice, no published source. Compared over the whole record, since a late entry
    may bring the box that was missed, and dated at the first handoff of one of them out of the place since the polls
    opened, or at the return deadline.
    """
    course = read_course(day)
    said, boxes = closing_figure(course, Figure.CONTAINERS_SEALED), boxes_of_day(course)
    if said is None or said.value == len(boxes):
        return
    yield day_finding(
        course,
        "set-short",
        Severity.CRITICAL,
        course.first_out(_first_out(course, boxes)),
        scope=(course.election, day.site),
        variant="" if boxes else "none",
        items=list(boxes),
        said=said.value,
        found=len(boxes),
    )


def _first_out(course: Course, boxes: Mapping[str, Moment]) -> Position | None:
    return next(
        (
            position
            for position, event in course.day.events
            if not boxes.keys().isdisjoint(event.handed_out) and not course.opened.has_before(position)
        ),
        None,
    )


def count_differs(day: PlaceDay) -> Iterator[Finding]:
    """Closing figures of a place that should be equal and are not: four comparisons, each with a finding of its own.

    Each arises at the last of the counts that it rests on. One of them missing, nothing is compared; spoiled, provisional
    and auxiliary ballots count as none when they are not given.
    """
    course = read_course(day)
    yield from _account(course)
    yield from _scanners(course)
    yield from _protective(course)
    yield from _containers(course)


def _account(course: Course) -> Iterator[Finding]:
    """Ballots received ≠ cast + spoiled + unused + provisional."""
    received = closing_figure(course, Figure.BALLOTS_RECEIVED) or opening_figure(
        course, course.day.site, Figure.BALLOTS_RECEIVED
    )
    cast, unused = closing_figure(course, Figure.BALLOTS_CAST), closing_figure(course, Figure.BALLOTS_UNUSED)
    if received is None or cast is None or unused is None:
        return
    spoiled = closing_figure(course, Figure.BALLOTS_SPOILED)
    provisional = closing_figure(course, Figure.BALLOTS_PROVISIONAL)
    parts = [each for each in (cast, spoiled, unused, provisional) if each is not None]
    total = sum(each.value for each in parts)
    if received.value != total:
        yield _differs(
            course, "account", [received, *parts], scope=course.day.site, received=received.value, accounted=total
        )


def _scanners(course: Course) -> Iterator[Finding]:
    """The scanners' public counters, closing minus opening, ≠ ballots cast less auxiliary; when every scanner has both."""
    cast, auxiliary = closing_figure(course, Figure.BALLOTS_CAST), closing_figure(course, Figure.BALLOTS_AUXILIARY)
    read = {scanner: each.get(Figure.PUBLIC_COUNTER) for scanner, each in counters(course).items()}
    public = [each for each in read.values() if each is not None]
    if cast is None or not read or len(public) < len(read):
        return
    scanned = sum(each.difference for each in public)
    expected = cast.value - (auxiliary.value if auxiliary else 0)
    if scanned != expected:
        rests_on = [cast, *([auxiliary] if auxiliary else []), *(figure for each in public for figure in each)]
        yield _differs(
            course,
            "scanners",
            rests_on,
            scope=course.day.site,
            items=list(read),
            scanned=scanned,
            expected=expected,
        )


def _protective(course: Course) -> Iterator[Finding]:
    """A scanner's lifetime counter moved by another number than its counter for this election."""
    for scanner, read in counters(course).items():
        public, protective = read.get(Figure.PUBLIC_COUNTER), read.get(Figure.PROTECTIVE_COUNTER)
        if public and protective and public.difference != protective.difference:
            yield _differs(
                course,
                "protective",
                [*public, *protective],
                scope=scanner,
                items=[scanner],
                public=public.difference,
                protective=protective.difference,
            )


def _containers(course: Course) -> Iterator[Finding]:
    """Ballots in the sealed containers ≠ ballots cast, when each container was counted.

    Asked once the set is known: as many containers are sealed as the closing count says, or the first of them left, or the
    return deadline has passed. While the crew is still sealing, part of a set is no difference.
    """
    cast, boxes = closing_figure(course, Figure.BALLOTS_CAST), boxes_of_day(course)
    counted = {code: ballots_in(course, code) for code in boxes}
    in_boxes = [each for each in counted.values() if each is not None]
    if cast is None or not boxes or len(in_boxes) < len(boxes):
        return
    total = sum(each.value for each in in_boxes)
    if total == cast.value:
        return
    said = closing_figure(course, Figure.CONTAINERS_SEALED)
    if said is not None and said.value == len(boxes):
        known = course.at_entry(max(said.by, *boxes.values()))
    else:
        known = course.first_out(_first_out(course, boxes))
    last = max(each.by for each in (cast, *in_boxes))
    occasion = course.at_entry(last) if last > known.position else known
    yield day_finding(
        course,
        COUNT_DIFFERS,
        Severity.CRITICAL,
        occasion,
        scope=(course.election, course.day.site, "containers"),
        variant="containers",
        items=list(boxes),
        counted=total,
        cast=cast.value,
    )


def _differs(
    course: Course,
    comparison: str,
    rests_on: list[Counted],
    *,
    scope: str,
    items: list[str] | None = None,
    **params: Any,
) -> Finding:
    return day_finding(
        course,
        COUNT_DIFFERS,
        Severity.CRITICAL,
        course.at_entry(max(each.by for each in rests_on)),
        scope=(course.election, scope, comparison),
        variant=comparison,
        items=items or [],
        **params,
    )


def count_differs_again(act: Act) -> Iterator[Finding]:
    """The first count of a container after it was unsealed for a count, an audit or a recount ≠ the last before.

    The comparison is named `recount:` and the entry's id. A container never counted before has nothing to differ from.
    """
    entry = act.entry
    if not isinstance(entry, Count) or not act.is_item(entry.subject):
        return
    before, ballots = act.found.item(entry.subject), entry.figures.get(Figure.BALLOTS_IN_CONTAINER)
    if ballots is None or not before.recount_due or before.ballots in (None, ballots):
        return
    finding = entry_finding(
        act,
        COUNT_DIFFERS,
        Severity.CRITICAL,
        variant="recount",
        items=[entry.subject],
        before=before.ballots,
        now=ballots,
    )
    yield replace(finding, scope=(entry.election, entry.subject, "recount", act.recorded.id))


def checkins_differ(day: PlaceDay) -> Iterator[Finding]:
    """Before the polls closed, a count of a place shows more or fewer check-ins than ballots by more than policy allows.

    Common practice, no published source: the hourly comparison finds a machine that swallows ballots while there is time.
    """
    course = read_course(day)
    for position, event in course.counts:
        public, checked_in = figure_of(event, Figure.PUBLIC_COUNTER), figure_of(event, Figure.VOTERS_CHECKED_IN)
        if event.subject != day.site or public is None or checked_in is None or not course.closed.has_before(position):
            continue
        if abs(public - checked_in) > day.policy(position[0]).checkins_differ_at_most:
            yield day_finding(
                course,
                "checkins-differ",
                Severity.NOTICE,
                course.at_entry(position),
                scope=(position[1],),
                public=public,
                checked_in=checked_in,
            )


def counter_not_zero(day: PlaceDay) -> Iterator[Finding]:
    """A public counter reads other than 0 at the place on the day of the vote, before its polls open.

    Counts of days before are tests. Zero at opening is on every published procedure (zero tape).
    """
    course = read_course(day)
    for position, event in course.counts:
        public = figure_of(event, Figure.PUBLIC_COUNTER)
        if not event.here or not public or not course.opened.has_before(position):
            continue
        if not course.is_that_day(position[0]):
            continue
        is_item = event.subject not in day.register.sites
        yield day_finding(
            course,
            "counter-not-zero",
            Severity.CRITICAL,
            course.at_entry(position),
            scope=(position[1],),
            variant="scanner" if is_item else "",
            items=[event.subject] if is_item else [],
            public=public,
        )


FIGURES_ENTRY_RULES = (count_differs_again,)
FIGURES_PLACE_RULES = (memory_left_in, set_short, count_differs, checkins_differ, counter_not_zero)
