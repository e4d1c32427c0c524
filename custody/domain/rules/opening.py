"""The steps of opening and closing: what was left out, what was done too early, how many signed the tapes.

Common practice of the trade, no published source; policy lists the steps that a jurisdiction wants, and each is asked once a
place, however many scanners it has. A step is done when an entry made at the place says so.
"""

from __future__ import annotations

from collections.abc import Iterator

from custody.domain.account import first_closing
from custody.domain.acts import Act
from custody.domain.day import HOUR, Course, Occasion, Turn, day_finding, read_course
from custody.domain.entries import Step
from custody.domain.entry_findings import entry_finding
from custody.domain.findings import Finding, Severity
from custody.domain.recorded import Moment, Position
from custody.domain.scopes import PlaceDay
from custody.domain.states import PlaceEvent
from custody.domain.vocabulary import Figure, StepName

TAPES = (StepName.ZERO_TAPE_SIGNED, StepName.RESULTS_TAPE_SIGNED)
CLOSING_COUNT = "closing_count"


def step_missing(day: PlaceDay) -> Iterator[Finding]:
    """A step was not done when it should have been. One finding a step; five questions, each asked at its own time:

    - what policy wants before the polls open: at the opening;
    - whether the auxiliary bin was cleared since it was last opened: at the closing;
    - whether the polls were opened, and closed: an hour after the scheduled time;
    - what policy wants after the closing: when the first ballot container is handed out after it, or at the return deadline;
      a step that was done out of order is done;
    - the closing count: at the same time.

    Where nobody recorded the opening or the closing, the first two are asked an hour after the scheduled time, and like the
    third only of a place to which an `issue` handed an item of its kit. The last two are asked of every place that had a part
    in the election. What is still worth doing late (opening, closing, what comes after) clears the finding when it is done.
    """
    course = read_course(day)
    if not course.is_in_use():
        return
    yield from _not_before_opening(course)
    yield from _bin_not_cleared(course)
    yield from _not_turned(course, course.opened, StepName.POLLS_OPENED, day.election.polls_open)
    yield from _not_turned(course, course.closed, StepName.POLLS_CLOSED, day.election.polls_close)
    yield from _not_after_closing(course)
    yield from _not_counted(course)


def _asked_at(course: Course, turn: Turn) -> Occasion | None:
    """When a question about a turn is asked: at its step; without one an hour later, and only of a place with a kit."""
    if turn.entry is not None:
        return course.at_entry((turn.time, turn.entry))
    limit = turn.time + HOUR
    return course.at_limit(limit) if course.is_issued(limit) else None


def _steps(course: Course) -> list[tuple[Position, PlaceEvent]]:
    return [(position, event) for position, event in course.day.events if event.here and event.step]


def _not_before_opening(course: Course) -> Iterator[Finding]:
    occasion = _asked_at(course, course.opened)
    if occasion is None:
        return
    done = {event.step for position, event in _steps(course) if position < occasion.position}
    for step in course.policy(occasion.time).steps_before_open:
        if step not in done:
            yield _missing(course, occasion, step, variant="before")


def _bin_not_cleared(course: Course) -> Iterator[Finding]:
    occasion = _asked_at(course, course.closed)
    if occasion is None:
        return
    bins = (StepName.AUXILIARY_BIN_OPENED, StepName.AUXILIARY_BIN_CLEARED)
    done = [event.step for position, event in _steps(course) if event.step in bins and position < occasion.position]
    if done and done[-1] == StepName.AUXILIARY_BIN_OPENED:
        yield _missing(course, occasion, StepName.AUXILIARY_BIN_CLEARED, variant="bin")


def _not_turned(course: Course, turn: Turn, step: StepName, scheduled: int) -> Iterator[Finding]:
    limit = scheduled + HOUR
    if not course.is_issued(limit) or (turn.entry is not None and turn.time <= limit):
        return
    cleared = Moment(turn.time, turn.entry) if turn.entry is not None else None
    yield _missing(course, course.at_limit(limit), step, variant="polls", cleared=cleared)


def _not_after_closing(course: Course) -> Iterator[Finding]:
    occasion = course.first_out(course.boxes_left)
    early = {event.step for _, event in _out_of_order(course)}
    steps = [(position, event.step) for position, event in _steps(course) if not course.closed.has_before(position)]
    for step in course.policy(occasion.time).steps_after_close:
        done = [position for position, each in steps if each == step]
        if step in early or (done and done[0] < occasion.position):
            continue
        yield _missing(course, occasion, step, variant="after", cleared=Moment(*done[0]) if done else None)


def _not_counted(course: Course) -> Iterator[Finding]:
    """No closing `ballots_cast`, or no closing `containers_sealed`."""
    occasion = course.first_out(course.boxes_left)
    given = [first_closing(course, figure) for figure in (Figure.BALLOTS_CAST, Figure.CONTAINERS_SEALED)]
    known = [position for position in given if position is not None]
    complete = Moment(*max(known)) if len(known) == len(given) else None
    if complete is None or complete > occasion.position:
        yield _missing(course, occasion, CLOSING_COUNT, variant="count", cleared=complete)


def _missing(course: Course, occasion: Occasion, step: str, *, variant: str, cleared: Moment | None = None) -> Finding:
    return day_finding(
        course,
        "step-missing",
        Severity.CRITICAL,
        occasion,
        scope=(course.election, course.day.site, str(step)),
        variant=variant,
        cleared=cleared,
        step=str(step),
    )


def step_out_of_order(day: PlaceDay) -> Iterator[Finding]:
    """A memory device came out, or the results tape was signed, before the polls closed.

    A device that was taken out is no finding when one was packed into the same scanner again before they did: then it was
    replaced. A step that names neither device nor scanner may be about any scanner.
    """
    course = read_course(day)
    for position, event in _out_of_order(course):
        scanners = event.step_scanners if event.step == StepName.MEMORY_REMOVED else ()
        yield day_finding(
            course,
            "step-out-of-order",
            Severity.WARNING,
            course.at_entry(position),
            scope=(position[1],),
            variant=f"{event.step}.scanner" if scanners else event.step,
            items=scanners,
        )


def _out_of_order(course: Course) -> Iterator[tuple[Position, PlaceEvent]]:
    for position, event in _steps(course):
        if not course.closed.has_before(position):
            continue
        if event.step == StepName.RESULTS_TAPE_SIGNED or (
            event.step == StepName.MEMORY_REMOVED and not _replaced(course, position, event.step_scanners)
        ):
            yield position, event


def _replaced(course: Course, position: Position, scanners: tuple[str, ...]) -> bool:
    """Whether every scanner that a device came out of got one again before the polls closed."""
    packed = {
        scanner
        for each, event in course.day.events
        if each > position and course.closed.has_before(each)
        for scanner in event.packed
    }
    return packed.issuperset(scanners) if scanners else bool(packed)


def tape_signers(act: Act) -> Iterator[Finding]:
    """A zero or results tape is signed by fewer people, of those who did the step and the observers, than policy asks.

    Default: three, by Georgia Rule 183-1-12-.12, the chief and two witnesses.
    """
    entry = act.entry
    if not isinstance(entry, Step) or entry.step not in TAPES:
        return
    signed = act.signed_by.intersection((*entry.by.people, *entry.observers))
    if len(signed) < act.policy.tape_signers:
        yield entry_finding(
            act,
            "tape-signers",
            Severity.WARNING,
            variant=entry.step.value,
            signed=len(signed),
            asked=act.policy.tape_signers,
        )


OPENING_ENTRY_RULES = (tape_signers,)
OPENING_PLACE_RULES = (step_missing, step_out_of_order)
