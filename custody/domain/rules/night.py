"""After the doors closed: what has not come back, what was not read in, what lies unopened. Each holds until it is done.

An unplanned spare that was put to use, a device left in a bag, a bag delivered and never opened: each of these was in the news
of some county, and each was somebody's honest slip at the end of a sixteen-hour day.
"""

from __future__ import annotations

from collections.abc import Iterator

from custody.domain.day import HOUR, Course, Occasion, day_finding, read_course, seals_of_day
from custody.domain.findings import Finding, Severity
from custody.domain.recorded import Moment
from custody.domain.returns import list_due
from custody.domain.scopes import ItemLife, PlaceDay
from custody.domain.states import ItemState
from custody.domain.vocabulary import ItemKind


def unreturned(life: ItemLife) -> Iterator[Finding]:
    """After the return deadline an item is owed and not back. What comes in at the deadline itself is in time.

    Of an item put to use after the deadline it arises at once.
    """
    for due in list_due(life.code, life.state, life.register):
        if (late := due.late_since) is None:
            continue
        yield Finding(
            rule="unreturned",
            scope=(due.election, due.item),
            severity=Severity.CRITICAL,
            at=late,
            election=due.election,
            site=due.site,
            origin=due.site,
            entries=(due.since.entry,) if late > due.deadline else (),
            items=(due.item,),
            message="unreturned",
            params={"items": [due.item], "place": due.site},
            began=due.since,
            cleared=due.back,
            at_limit=late <= due.deadline,
        )


def not_read_in(day: PlaceDay) -> Iterator[Finding]:
    """A memory device that was in a scanner while the polls were open has no `results_read_in` since they opened.

    It arises when the hours that policy gives after the polls closed are over (default: Texas Election Code 66.053, 24). The
    policy is that of the closing. Asked of devices that the place had on its hands before it closed.
    """
    course = read_course(day)
    limit = course.closed.time + day.policy(course.closed.time).read_in_hours * HOUR
    had = {code for position, event in day.events if course.closed.has_before(position) for code in event.items}
    for code, state in sorted(day.items.items()):
        if code not in had or course.kind(code) is not ItemKind.MEMORY_DEVICE:
            continue
        began, read = _at_work(course, state), _read_in(course, state)
        if began is None or (read is not None and read.time <= limit):
            continue
        yield day_finding(
            course,
            "not-read-in",
            Severity.WARNING,
            course.at_limit(limit),
            scope=(course.election, code),
            items=[code],
            began=began,
            cleared=read,
        )


def _at_work(course: Course, state: ItemState) -> Moment | None:
    """The entry by which a device was first in a scanner while the polls were open."""
    for each in state.in_scanner:
        if course.closed.has_before(each.since) and (each.until is None or course.opened.has_after(each.until)):
            return each.since
    return None


def _read_in(course: Course, state: ItemState) -> Moment | None:
    read = (by for election, by in state.read_in if election == course.election and course.opened.has_after(by))
    return min(read, default=None)


def unopened(day: PlaceDay) -> Iterator[Finding]:
    """What was received under a seal of the day at a receiving station or count center was neither unsealed nor handed on.

    It arises when the hours that policy gives after the polls closed are over (our choice: 72), or when it is received,
    if that is later. Delivered and opened are different: sealed bags were delivered and never opened (Madison 2024).
    """
    course = read_course(day)
    limit = course.closed.time + day.policy(course.closed.time).opened_hours * HOUR
    for code, state in sorted(day.items.items()):
        for receipt in state.receipts:
            if receipt.election != course.election or not seals_of_day(course, receipt.seals):
                continue
            if receipt.opened is not None and receipt.opened.time <= limit:
                continue
            late = receipt.by.time > limit
            occasion = Occasion(receipt.by, receipt.site, (receipt.by.entry,)) if late else course.at_limit(limit)
            yield day_finding(
                course,
                "unopened",
                Severity.WARNING,
                occasion._replace(site=receipt.site),
                scope=(course.election, code),
                items=[code],
                began=receipt.by,
                cleared=receipt.opened,
                where=receipt.site,
            )


NIGHT_PLACE_RULES = (not_read_in, unopened)
NIGHT_ITEM_RULES = (unreturned,)
