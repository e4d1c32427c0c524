"""The fixed points of a polling place's day: when its polls opened and closed, when its things left, until when to wait.

Polls open and close with the first such step at the place; without one, at the scheduled time. Everything that is asked "before
the polls opened" or "since they closed" is measured here, so that the rules agree on it. Not a judgement, and no figures:
those are in `account.py`.

An entry is compared with a step in custody order, and with a scheduled time by its own time. What happens at the very second of
a scheduled time is neither before it nor after it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from custody.domain.findings import Finding, Severity
from custody.domain.instants import local_date
from custody.domain.judge import PlaceClock
from custody.domain.policy import Policy
from custody.domain.recorded import Moment, Position
from custody.domain.scopes import PlaceDay
from custody.domain.seal_states import SealOn
from custody.domain.states import PlaceEvent
from custody.domain.vocabulary import ItemKind, StepName

HOUR = 3600


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """The opening or the closing of the polls: the step that did it, or the scheduled time (`entry` is `None`)."""

    time: int
    entry: str | None = None

    def has_before(self, position: Position) -> bool:
        """Whether an entry at this position came before."""
        return position[0] < self.time if self.entry is None else tuple(position) < (self.time, self.entry)

    def has_after(self, position: Position) -> bool:
        """Whether an entry at this position came after."""
        return position[0] > self.time if self.entry is None else tuple(position) > (self.time, self.entry)


LIMIT = "~"
"""Stands for the id in the position of a limit: behind every id."""


class Occasion(NamedTuple):
    """What a finding arises at: an entry, or a limit that no entry marks.

    `position` is that of the entry; of a limit, one behind every entry of that second, since what is done at the limit is
    done in time.
    """

    position: Position
    site: str | None
    entries: tuple[str, ...]

    @property
    def time(self) -> int:
        return self.position[0]

    @property
    def is_limit(self) -> bool:
        return self.position[1] == LIMIT


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """One place's day and its fixed points.

    `left` is the first handoff, after the polls closed, of a controlled item out of the place; `boxes_left` the first of a
    ballot container. `counts` are the events of its counts.
    """

    day: PlaceDay
    events: Mapping[Position, PlaceEvent]
    counts: Sequence[tuple[Position, PlaceEvent]]
    opened: Turn
    closed: Turn
    left: Position | None
    boxes_left: Position | None

    @property
    def election(self) -> str:
        return self.day.election.code

    @property
    def deadline(self) -> int:
        return self.day.election.return_deadline

    def policy(self, instant: int) -> Policy:
        return self.day.policy(instant)

    def kind(self, code: str) -> ItemKind | None:
        known = self.day.register.items.get(code)
        return known.kind if known else None

    def at_entry(self, position: Position) -> Occasion:
        return Occasion(position, self.events[position].site, (position[1],))

    def at_limit(self, limit: int) -> Occasion:
        return Occasion((limit, LIMIT), self.day.site, ())

    def first_out(self, position: Position | None) -> Occasion:
        """The occasion of something being handed out at a position, or the return deadline when it was not until then."""
        if position is None or position[0] > self.deadline:
            return self.at_limit(self.deadline)
        return self.at_entry(position)

    def is_issued(self, until: int) -> bool:
        """Whether an `issue` handed an item of the place's kit, by this instant."""
        return any(event.issued and position[0] <= until for position, event in self.events.items())

    def is_in_use(self) -> bool:
        """Whether anything was brought to the place or done there. A count for it elsewhere is not yet use."""
        return any(event.here or event.kind != "count" for event in self.events.values())

    def is_that_day(self, instant: int) -> bool:
        """Whether an instant falls, by the place's clock, on the day on which its polls opened."""
        zone = self.day.election.timezone
        return local_date(instant, zone) == local_date(self.opened.time, zone)


def read_course(day: PlaceDay) -> Course:
    """The fixed points of a day, in one look at its events."""
    opened = _turn(day, StepName.POLLS_OPENED, scheduled=day.election.polls_open)
    closed = _turn(day, StepName.POLLS_CLOSED, scheduled=day.election.polls_close)
    out = [(position, event) for position, event in day.events if event.handed_out and closed.has_after(position)]
    return Course(
        day=day,
        events=dict(day.events),
        counts=[(position, event) for position, event in day.events if event.kind == "count"],
        opened=opened,
        closed=closed,
        left=next((position for position, event in out if event.controlled_out), None),
        boxes_left=next((position for position, event in out if _holds_box(day, event.handed_out)), None),
    )


def _holds_box(day: PlaceDay, codes: Sequence[str]) -> bool:
    known = (day.register.items.get(code) for code in codes)
    return any(item.kind is ItemKind.BALLOT_CONTAINER for item in known if item)


def _turn(day: PlaceDay, step: StepName, *, scheduled: int) -> Turn:
    for position, event in day.events:
        if event.here and event.step == step:
            return Turn(time=position[0], entry=position[1])
    return Turn(time=scheduled)


def place_clock(day: PlaceDay) -> PlaceClock:
    """What tells whether findings wait for this place's phone."""
    here = [position[0] for position, event in day.events if event.here]
    closed = _turn(day, StepName.POLLS_CLOSED, scheduled=day.election.polls_close)
    return PlaceClock(closed=closed.time, last_here=max(here, default=None), deadline=day.election.return_deadline)


def seals_of_day(course: Course, seals: Sequence[SealOn]) -> list[SealOn]:
    """Of these seals those that were put on at the place, in this election, since its polls opened.

    A number that was only read there, where the record had another or none, was put on by nobody: that is a finding of its
    own, and reading the seal once more puts it right.
    """
    return [
        seal
        for seal in seals
        if (seal.election, seal.site) == (course.election, course.day.site)
        and (put_on := course.events.get(seal.since)) is not None
        and put_on.kind == "seal"
        and not course.opened.has_before(seal.since)
    ]


def boxes_of_day(course: Course) -> dict[str, Moment]:
    """The ballot containers of the place with a seal of the day in place, each with the first such seal's entry.

    In place when they left it, or now if they have not.
    """
    boxes = {}
    for code, state in sorted(course.day.items.items()):
        if course.kind(code) is not ItemKind.BALLOT_CONTAINER:
            continue
        here = (course.election, course.day.site)
        left = next((each for each in state.departures if (each.election, each.site) == here), None)
        seals = seals_of_day(course, left.seals if left else tuple(state.seals.values()))
        if seals:
            boxes[code] = min(seal.since for seal in seals)
    return boxes


def day_finding(
    course: Course,
    rule: str,
    severity: Severity,
    occasion: Occasion,
    *,
    scope: tuple[str, ...],
    variant: str = "",
    items: Sequence[str] = (),
    began: Moment | None = None,
    cleared: Moment | None = None,
    **params: Any,
) -> Finding:
    """A finding about a place's day. Its message is `rule` or `rule.variant`; `items` are those that the message names."""
    named = tuple(sorted(set(items)))
    shown = {"items": list(named)} if named else {}
    return Finding(
        rule=rule,
        scope=scope,
        severity=severity,
        at=occasion.time,
        election=course.election,
        site=occasion.site,
        origin=course.day.site,
        entries=occasion.entries,
        items=named,
        message=f"{rule}.{variant}" if variant else rule,
        params=shown | {"place": course.day.site} | params,
        began=began,
        cleared=cleared,
        at_limit=occasion.is_limit,
    )
