"""A place's day: steps done and missing, counts, the ballot account, its things and where each is now."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import cast

from custody import store
from custody.domain.account import ballots_in, closing_figure, counters, figure_of, opening_figure
from custody.domain.book import Book
from custody.domain.day import Course, Turn, boxes_of_day, read_course
from custody.domain.evaluate import place_day
from custody.domain.scopes import PlaceDay
from custody.domain.states import ItemState
from custody.domain.tracks import END
from custody.domain.views import View, item_key, place_key
from custody.domain.vocabulary import Figure, StepName
from custody.queries.holdings import Holds, list_holdings
from custody.queries.moments import look_at
from custody.queries.outstanding import Holder, holder_of

DEPTH = 8
"""Levels of containers that are followed; more than anybody packs."""
ACCOUNT = (
    Figure.BALLOTS_RECEIVED,
    Figure.BALLOTS_UNUSED,
    Figure.BALLOTS_SPOILED,
    Figure.BALLOTS_PROVISIONAL,
    Figure.BALLOTS_AUXILIARY,
    Figure.BALLOTS_CAST,
    Figure.CONTAINERS_SEALED,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class StepShown:
    """A step that policy asks for, or that was done. `phase`: `opening`, `day` or `closing`; without `entry` not on record.

    `out_of_order`: what belongs before the opening came after it, or what belongs after the closing before it.
    """

    step: str
    phase: str
    at: int | None = None
    entry: str | None = None
    out_of_order: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class HourCount:
    """A count of the place as a whole: ballots by its public counters, and voters checked in, where given.

    `added_up` says that the ballots are the sum of what was read at each scanner.
    """

    at: int
    entry: str
    ballots: int | None
    checked_in: int | None
    added_up: bool = False

    @property
    def difference(self) -> int | None:
        return None if self.ballots is None or self.checked_in is None else self.ballots - self.checked_in


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """The ballot account, as far as its figures are on record; a figure is `None` where nobody wrote it down.

    `scanned` is what the scanners counted that day, `boxed` what was counted in the sealed containers, `boxes` how many of
    those there are. Spoiled, provisional and auxiliary ballots count as none when they are not given.
    """

    received: int | None
    unused: int | None
    spoiled: int | None
    provisional: int | None
    auxiliary: int | None
    cast: int | None
    sealed: int | None
    scanned: int | None
    boxed: int | None
    boxes: int

    @property
    def used(self) -> int | None:
        return None if self.received is None or self.unused is None else self.received - self.unused

    @property
    def expected(self) -> int | None:
        """What should be on the scanners: of the ballots used, those neither spoiled, provisional nor left unscanned."""
        if self.used is None:
            return None
        return self.used - (self.spoiled or 0) - (self.provisional or 0) - (self.auxiliary or 0)

    @property
    def difference(self) -> int | None:
        return None if self.expected is None or self.scanned is None else self.scanned - self.expected

    @property
    def boxed_difference(self) -> int | None:
        return None if self.boxed is None or self.cast is None else self.boxed - self.cast

    @property
    def is_empty(self) -> bool:
        return not self.boxes and all(
            each is None for each in (self.received, self.unused, self.cast, self.scanned, self.sealed)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedItem:
    """Something of the place: who holds it now and in what it is, the outermost container first asked. `here` by its holder."""

    item: str
    holder: Holder | None
    container: str | None
    here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DayShown:
    """A polling place's day. `opened` and `closed` are instants, with the entry of the step or `None` where it is scheduled."""

    opened: tuple[int, str | None]
    closed: tuple[int, str | None]
    left: int | None
    steps: tuple[StepShown, ...]
    counts: tuple[HourCount, ...]
    account: Account
    items: tuple[PlacedItem, ...]


def get_place_day(log: store.LogHead, election: str, site: str, *, now: int) -> DayShown | None:
    """A place's day as far as it is on record at `now`; `None` where the register knows no such election or place."""
    moment = look_at(log, now)
    book = moment.book()
    day = place_day(book.register, book.tracks, place_key(election, site))
    if day is None:
        return None
    course = read_course(day)
    return DayShown(
        opened=_turned(course.opened),
        closed=_turned(course.closed),
        left=course.left[0] if course.left else None,
        steps=tuple(_steps(course)),
        counts=tuple(_counts(course)),
        account=_account(course),
        items=_items(book, day),
    )


def _turned(turn: Turn) -> tuple[int, str | None]:
    return turn.time, turn.entry


def _steps(course: Course) -> Iterator[StepShown]:
    """What is asked before the opening, then what was done beyond it during the day, then what is asked from the closing on."""
    done = [(position, event.step) for position, event in course.day.events if event.here and event.step]
    opening = [*course.policy(course.opened.time).steps_before_open, StepName.POLLS_OPENED]
    closing = [StepName.POLLS_CLOSED, *course.policy(course.closed.time).steps_after_close]
    for step in opening:
        position = next((each for each, name in done if name == step), None)
        if position is None:
            yield StepShown(step=step, phase="opening")
        else:
            late = course.opened.entry is not None and course.opened.has_after(position)
            yield StepShown(step=step, phase="opening", at=position[0], entry=position[1], out_of_order=late)
    for position, name in done:
        if name not in opening and name not in closing:
            yield StepShown(step=name, phase="day", at=position[0], entry=position[1])
    for step in closing:
        given = [each for each, name in done if name == step]
        after = [each for each in given if not course.closed.has_before(each)]
        chosen = next(iter(after or given), None)
        if chosen is None:
            yield StepShown(step=step, phase="closing")
        else:
            early = course.closed.entry is not None and not after
            yield StepShown(step=step, phase="closing", at=chosen[0], entry=chosen[1], out_of_order=early)


def _counts(course: Course) -> Iterator[HourCount]:
    """The counts of the place as a whole, and those of its scanners added up: at both ends, and after each round of them."""
    found: list[HourCount] = []
    for position, event in course.counts:
        ballots, checked_in = figure_of(event, Figure.PUBLIC_COUNTER), figure_of(event, Figure.VOTERS_CHECKED_IN)
        if event.subject == course.day.site and (ballots is not None or checked_in is not None):
            found.append(HourCount(at=position[0], entry=position[1], ballots=ballots, checked_in=checked_in))
    read = [each.get(Figure.PUBLIC_COUNTER) for each in counters(course).values()]
    public = [each for each in read if each is not None]
    if public and len(public) == len(read):
        for figures in ([each.opening for each in public], [each.closing for each in public]):
            at, entry = max(each.by for each in figures)
            total = sum(each.value for each in figures)
            found.append(HourCount(at=at, entry=entry, ballots=total, checked_in=None, added_up=True))
    found += _rounds(course, set(counters(course)))
    yield from sorted(found, key=lambda each: (each.at, each.entry))


def _rounds(course: Course, scanners: set[str]) -> Iterator[HourCount]:
    """While the polls were open: the sum, each time that every scanner was read."""
    read: dict[str, int] = {}
    for position, event in course.counts:
        ballots = figure_of(event, Figure.PUBLIC_COUNTER)
        open_then = not course.opened.has_before(position) and course.closed.has_before(position)
        if ballots is None or event.subject not in scanners or not event.here or not open_then:
            continue
        read[event.subject] = ballots
        if len(read) == len(scanners):
            yield HourCount(
                at=position[0], entry=position[1], ballots=sum(read.values()), checked_in=None, added_up=True
            )
            read.clear()


def _account(course: Course) -> Account:
    closing = {figure: closing_figure(course, figure) for figure in ACCOUNT}
    closing[Figure.BALLOTS_RECEIVED] = closing[Figure.BALLOTS_RECEIVED] or opening_figure(
        course, course.day.site, Figure.BALLOTS_RECEIVED
    )
    values = {figure: counted.value if counted else None for figure, counted in closing.items()}
    read = [each.get(Figure.PUBLIC_COUNTER) for each in counters(course).values()]
    public = [each.difference for each in read if each is not None]
    boxes = boxes_of_day(course)
    counted = [each.value for code in boxes if (each := ballots_in(course, code)) is not None]
    return Account(
        received=values[Figure.BALLOTS_RECEIVED],
        unused=values[Figure.BALLOTS_UNUSED],
        spoiled=values[Figure.BALLOTS_SPOILED],
        provisional=values[Figure.BALLOTS_PROVISIONAL],
        auxiliary=values[Figure.BALLOTS_AUXILIARY],
        cast=values[Figure.BALLOTS_CAST],
        sealed=values[Figure.CONTAINERS_SEALED],
        scanned=sum(public) if read and len(public) == len(read) else None,
        boxed=sum(counted) if boxes and len(counted) == len(boxes) else None,
        boxes=len(boxes),
    )


def _items(book: Book, day: PlaceDay) -> tuple[PlacedItem, ...]:
    """The things of the place by code, each with its holder: that of the outermost container around it."""
    _load_around(book, day.items)
    view = View(
        book.tracks.last, book.register, book.register.policies.at(0)
    )  # nothing that policy says is asked of it
    found = []
    for code, state in sorted(day.items.items()):
        holder = holder_of(view.holding(code))
        here = holder is not None and holder.site == day.site
        found.append(PlacedItem(item=code, holder=holder, container=state.container, here=here))
    return tuple(found)


def _load_around(book: Book, items: Mapping[str, ItemState]) -> None:
    """The containers around things, and those around them, one query a level."""
    level = {state.container for state in items.values() if state.container} - items.keys()
    for _ in range(DEPTH):
        if not level:
            return
        keys = [item_key(code) for code in sorted(level)]
        book.tracks.prepare(keys, END)
        level = {outer for key in keys if (outer := cast(ItemState, book.tracks.last(key)).container)} - level


def list_held(log: store.LogHead, site: str, *, now: int) -> tuple[PlacedItem, ...]:
    """The things that whoever answers at a place holds, by code: for places that have no day of their own."""
    held = list_holdings(look_at(log, now), Holds(site=site))
    return tuple(PlacedItem(item=each.item, holder=each.holder, container=each.container, here=True) for each in held)
