"""A polling place's day: steps, counts as they came in, the ballot account, what is still owed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from custody import store
from custody.domain.account import closing_figure, counters, figure_of
from custody.domain.day import Course, read_course
from custody.domain.evaluate import place_day
from custody.domain.tracks import BEGINNING
from custody.domain.views import place_key
from custody.domain.vocabulary import Figure
from custody.queries.moments import look_at


@dataclass(frozen=True, slots=True, kw_only=True)
class StepDone:
    step: str
    at: int
    entry: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CountRow:
    """How the counters stood after one count: the sum over scanners, and check-ins; `None` before either was first told."""

    at: int
    entry: str
    public: int | None
    checked_in: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """The closing figures of a ballot account, by name, as far as they were told; `public` the scanners' sum of the day."""

    figures: Mapping[str, int]
    public: int | None

    @property
    def used(self) -> int | None:
        """Ballots received less those left over."""
        received, unused = (self.figures.get(name) for name in (Figure.BALLOTS_RECEIVED, Figure.BALLOTS_UNUSED))
        return None if received is None or unused is None else received - unused

    @property
    def expected(self) -> int | None:
        """Used, less what went elsewhere than through a scanner: spoiled, provisional, auxiliary."""
        elsewhere = (Figure.BALLOTS_SPOILED, Figure.BALLOTS_PROVISIONAL, Figure.BALLOTS_AUXILIARY)
        return None if self.used is None else self.used - sum(self.figures.get(name, 0) for name in elsewhere)

    @property
    def difference(self) -> int | None:
        return None if self.expected is None or self.public is None else self.public - self.expected


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceDayShown:
    """`opened` and `closed` in Unix seconds, with the entry that says so, or scheduled; `lacking` are steps of policy that
    are not on record, before opening and after closing."""

    opened: int
    opened_by: str | None
    closed: int
    closed_by: str | None
    steps: tuple[StepDone, ...]
    lacking_before: tuple[str, ...]
    lacking_after: tuple[str, ...]
    counts: tuple[CountRow, ...]
    account: Account


def get_place_day(log: store.LogHead, election: str, site: str, *, now: int) -> PlaceDayShown | None:
    """The day of a place in an election; `None` where the register knows either not."""
    moment = look_at(log, now)
    book = moment.book()
    key = place_key(election, site)
    book.tracks.prepare([key], BEGINNING)
    day = place_day(moment.register, book.tracks, key)
    if day is None:
        return None
    course = read_course(day)
    steps = tuple(
        StepDone(step=event.step, at=position[0], entry=position[1])
        for position, event in day.events
        if event.here and event.step
    )
    done = {each.step for each in steps}
    policy = moment.register.policies.at(course.opened.time)
    return PlaceDayShown(
        opened=course.opened.time,
        opened_by=course.opened.entry,
        closed=course.closed.time,
        closed_by=course.closed.entry,
        steps=steps,
        lacking_before=tuple(step for step in policy.steps_before_open if step not in done),
        lacking_after=tuple(step for step in policy.steps_after_close if step not in done),
        counts=tuple(_counts(course)),
        account=_account(course),
    )


def _counts(course: Course) -> list[CountRow]:
    public: int | None = None
    scanners: dict[str, int] = {}
    checked_in: int | None = None
    rows: dict[int, CountRow] = {}
    for position, event in course.counts:
        if not event.here or not course.is_that_day(position[0]):
            continue
        counter = figure_of(event, Figure.PUBLIC_COUNTER)
        if counter is not None and event.subject == course.day.site:
            public = counter  # the place itself tells the sum
        elif counter is not None:
            scanners[event.subject] = counter
            public = sum(scanners.values())
        told = figure_of(event, Figure.VOTERS_CHECKED_IN)
        checked_in = checked_in if told is None else told
        if counter is not None or told is not None:
            # Counts of one minute are one look at the machines.
            rows[position[0] // 60] = CountRow(at=position[0], entry=position[1], public=public, checked_in=checked_in)
    return list(rows.values())


def _account(course: Course) -> Account:
    told = {figure.value: closing_figure(course, figure) for figure in Figure}
    scanners = [found[Figure.PUBLIC_COUNTER] for found in counters(course).values() if Figure.PUBLIC_COUNTER in found]
    return Account(
        figures={name: counted.value for name, counted in told.items() if counted is not None},
        public=sum(each.difference for each in scanners) if scanners else None,
    )
