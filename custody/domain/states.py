"""What the replay knows of an item, a seal number, a run of loose seals, a person, a journey, the holds: one small value each.

A state is the result of every entry up to a position in custody order and nothing else. States are stored as JSON by the
projections and are disposable: they can always be worked out again from the log.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

from custody.domain.recorded import Moment as Moment
from custody.domain.seal_states import LooseState, NumberState, Point, SealOn
from custody.domain.vocabulary import Role


class Holding(NamedTuple):
    """Who holds an item: the party that last received it, by which entry and in which election."""

    role: Role
    people: tuple[str, ...]
    site: str | None
    since: Moment
    election: str


class Owed(NamedTuple):
    """An item owed back from a polling place in an election, and when it came back."""

    election: str
    site: str
    since: Moment
    back: Moment | None = None


class Lost(NamedTuple):
    """An item reported lost, where, and when it turned up."""

    since: Moment
    site: str | None
    election: str
    ended: Moment | None = None


class Carried(NamedTuple):
    """A stretch of a way back in the hands of one courier party; `delivered` when it ended at a receiving or vault party."""

    people: tuple[str, ...]
    since: Moment
    until: Moment | None = None
    delivered: bool = False


class Travel(NamedTuple):
    """One way back of an item: from the entry by which it left a polling place with a courier to its receipt.

    `carried` are the stretches in couriers' hands, in custody order; one that lasts has no end. `ended` is when the item
    was received, which takes a signature: what was put down unsigned is in nobody's car, and yet on its way.
    """

    since: Moment
    site: str
    carried: tuple[Carried, ...] = ()
    ended: Moment | None = None

    @property
    def couriers(self) -> tuple[str, ...]:
        """All who carried it."""
        return tuple(sorted({person for each in self.carried for person in each.people}))


class Departure(NamedTuple):
    """How an item last left a polling place: by which handoff, and under which seals."""

    election: str
    site: str
    by: Moment
    seals: tuple[SealOn, ...]


class Receipt(NamedTuple):
    """An item taken in at a receiving station or count center, under which seals, and what first happened to it then."""

    election: str
    site: str
    by: Moment
    seals: tuple[SealOn, ...]
    opened: Moment | None = None


class InScanner(NamedTuple):
    """A memory device at work in a scanner: from the pack entry to the one that took it out."""

    election: str
    site: str | None
    scanner: str
    since: Moment
    until: Moment | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemState:
    """Everything the rules need to know of one item after some entry."""

    holder: Holding | None = None
    container: str | None = None
    contents: tuple[str, ...] = ()
    points: tuple[tuple[str, Point], ...] = ()
    destroyed: Moment | None = None
    lost: Lost | None = None
    travels: tuple[Travel, ...] = ()
    owed: tuple[Owed, ...] = ()
    elections: tuple[str, ...] = ()
    places: tuple[tuple[str, str], ...] = ()
    departures: tuple[Departure, ...] = ()
    receipts: tuple[Receipt, ...] = ()
    in_scanner: tuple[InScanner, ...] = ()
    read_in: tuple[tuple[str, Moment], ...] = ()
    service: tuple[str, ...] = ()
    in_use: bool = False  # packed, unsealed or counted since it was last shown empty
    shown_empty: bool = False  # and not sealed, unsealed, packed or counted since
    has_count: bool = False  # a count was ever written on it
    ballots: int | None = None  # as last counted in it
    recount_due: bool = False  # opened for a count since

    def point(self, name: str) -> Point:
        return next((point for each, point in self.points if each == name), Point())

    def with_point(self, name: str, point: Point) -> ItemState:
        others = [each for each in self.points if each[0] != name]
        return replace(self, points=tuple(sorted([*others, (name, point)])))

    @property
    def seals(self) -> dict[str, SealOn]:
        """The seals in place, by point."""
        return {name: point.seal for name, point in self.points if point.seal is not None}

    @property
    def travel(self) -> Travel | None:
        """The way back that this item is on, if it is on one."""
        return self.travels[-1] if self.travels and self.travels[-1].ended is None else None


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonState:
    """The last entry at a site that a person was named in and signed."""

    last: Moment | None = None
    site: str = ""


class Resolution(NamedTuple):
    """One `resolve` of a finding: its outcome, and the people named in it who signed."""

    by: Moment
    election: str
    outcome: str
    people: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SettlementState:
    """What was said to settle one finding, in custody order, and the entry that put its cause right, if one did."""

    resolutions: tuple[Resolution, ...] = ()
    cleared: Moment | None = None


class HeldBack(NamedTuple):
    """A legal hold: the entry that placed it, the items it names (none: the whole election), and what was lifted of it."""

    by: Moment
    election: str
    items: tuple[str, ...]
    lifted: tuple[str, ...] = ()
    over: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldState:
    """All legal holds of a log."""

    holds: tuple[HeldBack, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class JourneyState:
    """The items that one entry, made at `site`, put on the way back from a place, and which were controlled then."""

    election: str = ""
    place: str = ""
    site: str | None = None
    items: tuple[str, ...] = ()
    controlled: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceEvent:
    """One entry as a polling place's day sees it. Places are judged over the list of these.

    `site` is where the entry was made, `here` whether that is the place; `items` are the items of this place that it touched;
    `handed_out` those that left the place by it, `controlled_out` whether one of them is controlled; `loose_in` the runs of
    loose seals that a party at the place received; `loaded` the scanners of this place that were sealed or handed over by it
    with a memory device inside; `step_scanners` those that its step is about, by name or by the device that it names.
    """

    site: str | None = None
    here: bool = False
    kind: str = ""
    step: str = ""
    step_scanners: tuple[str, ...] = ()
    subject: str = ""
    figures: tuple[tuple[str, int], ...] = ()
    items: tuple[str, ...] = ()
    handed_out: tuple[str, ...] = ()
    controlled_out: bool = False
    loaded: tuple[str, ...] = ()
    issued: bool = False  # an `issue` handed an item of this place's kit
    packed: tuple[str, ...] = ()  # the scanners that it packs a memory device into
    loose_in: tuple[str, ...] = ()


State = ItemState | NumberState | LooseState | PersonState | HoldState | JourneyState | PlaceEvent | SettlementState

KEY_STATES: dict[str, type[State]] = {
    "item": ItemState,
    "number": NumberState,
    "loose": LooseState,
    "person": PersonState,
    "holds": HoldState,
    "journey": JourneyState,
    "place": PlaceEvent,
    "finding": SettlementState,
}
"""The first word of a state's key, and the type of its value. Keys: `item:CODE`, `number:N`, `loose:PREFIX/WIDTH/BLOCK`,
`person:CODE`, `holds:`, `journey:ENTRY`, `place:ELECTION/SITE`,
`finding:KEY`."""

EMPTY: dict[str, State] = {word: state() for word, state in KEY_STATES.items()}


def empty_state(key: str) -> State:
    """What is known of a key before any entry."""
    return EMPTY[key.partition(":")[0]]
