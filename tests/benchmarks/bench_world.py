"""An election of any size for measurements: so many places, each with a correct day, in the order in which entries come in.

The night is cut out: what comes in before it, what comes in during it, and what comes after. Handoffs of twelve items,
made just before it, stand beside.
"""

from __future__ import annotations

from dataclasses import dataclass

from tests.world import Deed, World

ENTRIES_A_PLACE = 58
NIGHT = "20:10"  # polls are closed: counters read, ballots boxed, seals put on
ITEMS_A_HANDOFF = 12


class Election(World):
    """A world whose account of loose seals stays small: at every place only its own and the desks' are looked at."""

    def __init__(self, *, places: int) -> None:
        super().__init__(places=places)
        for number, desk in enumerate(("WH", "CC")):  # whose own lots are too small for so many kits
            first, count = 9_200_000 + number * 100_000, 4 * places
            self.add_lot(f"LOT-{desk}-2", first=first, count=count, site=desk)
            self.loose[desk] += [f"S{number:07}" for number in range(first, first + count)]
        self._all_loose = self.loose

    def at_place(self, place: str) -> None:
        self.loose = {site: self._all_loose[site] for site in (place, "WH", "RS", "VA", "CC")}


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """The deeds of an election: `before` the night, `night`, `after`; `handoffs` of twelve items each."""

    world: Election
    before: list[Deed]
    night: list[Deed]
    after: list[Deed]
    handoffs: list[Deed]

    def recorded(self) -> list[Deed]:
        """All of them."""
        return [*self.before, *self.handoffs, *self.night, *self.after]


def make_season(*, entries: int, night: int, handoffs: int) -> Season:
    """About `entries` deeds, of which `night` in the night, and so many handoffs beside."""
    world = Election(places=max(entries // ENTRIES_A_PLACE, 12))
    moved = world.places[-6:]  # whose kits go to and fro, and never reach their places
    for place in world.places[:-6]:
        world.at_place(place)
        world.clean_day(place)
    for place in moved:
        world.at_place(place)
        world.prepare(place)
    begin = world.time(NIGHT)
    made = len(world.log)
    _hand_to_and_fro(world, moved, handoffs, begin - 2 * handoffs)
    beside = world.log[made:]
    del world.log[made:]
    lines = world.lines()
    first = sum(deed.received < begin for deed in lines)
    return Season(
        world=world,
        before=lines[:first],
        night=lines[first : first + night],
        after=lines[first + night :],
        handoffs=beside,
    )


def _hand_to_and_fro(world: Election, places: tuple[str, ...], count: int, begin: int) -> None:
    """Kits, each with three more pollbooks, between the clerks of the warehouse and drivers: twelve items at once."""
    clerks = world.party("warehouse_clerk")
    extra = {place: [world.add_item("pollbook") for _ in range(3)] for place in places}
    for number in range(count):
        place = places[number % len(places)]
        kit = world.kits[place]
        items = [*world.outer(kit), *extra[place]]
        assert len(items) == ITEMS_A_HANDOFF, items
        out = number // len(places) % 2 == 0
        ends = (clerks, world.drivers(place)) if out else (world.drivers(place), clerks)
        world.handoff(items, *ends, "transfer", site="WH", at=begin + number)
