"""The invented county on an ordinary election: every phase of a day as one call, done as the default policy asks.

    world = World(places=2)
    world.clean_day("P01")
    assert findings_of(world) == []

A test takes a correct day and spoils one thing in it, or leaves a phase out, or puts another act between two phases.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from custody.domain.book import Book, derive
from custody.domain.findings import Finding
from custody.domain.judge import merge_findings
from custody.domain.vocabulary import Role
from tests.world_acts import DAY, HERE, HOUR, MINUTE, Acts, Deed, JsonParty, party, reading, register_from, runs
from tests.world_register import ELECTION, JURISDICTION, LARK, MAKER, OTHER_MAKER, TIMEZONE, WREN, Kit, signer_of

__all__ = [
    "DAY", "ELECTION", "HERE", "HOUR", "JURISDICTION", "LARK", "MAKER", "MINUTE", "OTHER_MAKER", "TIMEZONE", "WREN",
    "Deed", "JsonParty", "Kit", "World", "derive_world", "findings_of", "party", "reading", "register_from", "runs",
    "signer_of",
]  # fmt: skip

# A published chief judge's worksheet of a North Carolina precinct, 6 May 2014: delivered 3,203, left 2,685;
# provisional 3, spoiled 3; 512 on the scanner.
RECEIVED, UNUSED, PROVISIONAL, SPOILED, CAST = 3_203, 2_685, 3, 3, 512
IN_CONTAINERS = (300, 212)
LIFETIME = 1_000
DESKS = {"warehouse_clerk": "WH", "receiving_clerk": "RS", "vault_custodian": "VA"}


class World(Acts):
    """A county of so many polling places, before anything happened. Its phases stand here in their order."""

    # Who stands where

    def party(self, role: str, site: str | None = None, *, people: int = 2) -> JsonParty:
        """The people of a role at a site, as in `party("poll_chief", "P01")`; of couriers, the drivers of that place.

        A chief comes with the workers of the place. Without `people`, two of them, of different affiliation.
        """
        if role in ("poll_chief", "poll_worker"):
            crew = [f"CHIEF-{site}", f"WORKER-1-{site}", f"WORKER-2-{site}"]
            return party(role, *(crew if role == "poll_chief" else crew[1:])[:people], site=site)
        if role == "courier":
            return party(role, *[f"DRIVER-1-{site}", f"DRIVER-2-{site}"][:people])
        site = site or DESKS.get(role)
        known = self.register.desks.get((ELECTION, Role(role), (site or "") if role in DESKS else ""), set())
        return party(role, *sorted(known)[:people], site=site)

    def chief(self, place: str, people: int = 2) -> JsonParty:
        return self.party("poll_chief", place, people=people)

    def _begin(self, place: str, clock: str, day: int = 0) -> Kit:
        """Set the clock to a phase of a place; places follow one another by a minute, as at a desk."""
        self.at = self.time(clock, day=day) + self.places.index(place) % 30 * MINUTE
        return self.kits[place]

    # Phases

    def prepare(self, place: str) -> Kit:
        """Weeks before: the kit comes on record, its device goes into the scanner, scanner and ballots are sealed."""
        kit, clerks = self._begin(place, "08:00", day=-14), self.party("warehouse_clerk")
        self.enter(kit.all, clerks)
        self.pack(kit.scanner, [kit.memory], clerks)
        self.seal([kit.scanner, kit.stock], clerks)
        return kit

    def issue_kit(self, place: str) -> Kit:
        """The day before: to the place's drivers, and by them to its chief, with the loose seals for the evening."""
        kit, clerks, drivers = self._begin(place, "09:00", day=-1), self.party("warehouse_clerk"), self.drivers(place)
        loose = runs(self.loose[place])
        self.handoff(self.outer(kit), clerks, drivers, "issue", loose=loose, site="WH")
        self.wait(29)
        self.handoff(self.outer(kit), drivers, self.chief(place), "deliver", loose=loose)
        return kit

    def drivers(self, place: str) -> JsonParty:
        return self.party("courier", place)

    def outer(self, kit: Kit) -> list[str]:
        """What one handoff names of a kit: all that is not inside something else."""
        return [code for code in kit.all if code not in self.inside]

    def open_polls(self, place: str) -> Kit:
        """From 06:00 to 07:00: seals, bins, tape, counters, ballots; then the doors open."""
        kit, crew, all_three = self._begin(place, "06:00"), self.chief(place), self.chief(place, people=3)
        self.inspect([kit.scanner, kit.stock], crew)
        self.step("seals_verified", crew, kit.scanner, kit.stock)
        self.step("keys_tried", crew, kit.keys)
        self.step("bin_empty", crew, kit.scanner)
        self.step("auxiliary_bin_empty", crew, kit.scanner)
        self.step("shown_empty", crew, *kit.containers)
        self.step("zero_tape_signed", all_three, kit.tape)
        self.count(kit.scanner, crew, {"public_counter": 0, "protective_counter": LIFETIME})
        self.unseal([kit.stock], crew, "open_polls")
        self.count(place, crew, {"ballots_received": RECEIVED})
        self.step("polls_opened", crew, at=self.time("07:00"))
        return kit

    def noon(self, place: str) -> None:
        """During the day: check-ins against the counter, and the auxiliary bin opened and cleared."""
        kit, crew = self._begin(place, "12:00"), self.chief(place)
        self.count(place, crew, {"public_counter": 250, "voters_checked_in": 252})
        self.step("auxiliary_bin_opened", crew, kit.scanner)
        self.step("auxiliary_bin_cleared", crew, kit.scanner)

    def close_polls(self, place: str) -> Kit:
        """From 20:00: tape, device out, bins emptied, ballots counted and boxed, the account, everything sealed."""
        kit, crew = self._begin(place, "20:00"), self.chief(place)
        self.step("polls_closed", crew, at=self.time("20:00"))
        self.wait(1)
        self.step("results_tape_signed", self.chief(place, people=3), kit.tape)
        self.count(kit.scanner, crew, {"public_counter": CAST, "protective_counter": LIFETIME + CAST})
        self.unseal([kit.scanner], crew, "close_polls")
        self.unpack(kit.scanner, [kit.memory], crew)
        self.step("memory_removed", crew, kit.memory)
        self.step("bin_emptied", crew, kit.scanner)
        for container, ballots in zip(kit.containers, IN_CONTAINERS, strict=True):
            self.count(container, crew, {"ballots_in_container": ballots})
        self.seal(kit.containers, crew)
        figures = {"ballots_cast": CAST, "ballots_spoiled": SPOILED, "ballots_unused": UNUSED}
        more = {"ballots_provisional": PROVISIONAL, "ballots_auxiliary": 0, "containers_sealed": len(kit.containers)}
        self.count(place, crew, figures | more | {"voters_checked_in": 514})
        self.seal([kit.stock, kit.scanner], crew)
        self.step("unit_locked", crew, kit.scanner)
        return kit

    def pack_for_return(self, place: str) -> Kit:
        """Device and tape into the envelope, the envelope into the case, both sealed."""
        kit, crew = self._begin(place, "20:30"), self.chief(place)
        self.pack(kit.envelope, [kit.memory, kit.tape], crew)
        self.seal([kit.envelope], crew)
        self.pack(kit.case, [kit.envelope], crew)
        self.seal([kit.case], crew)
        return kit

    def returned(self, place: str) -> list[str]:
        """What the drivers take: all but the keys, which the chief brings, and the scanner, which stays for now."""
        kit = self.kits[place]
        return [code for code in self.outer(kit) if code not in (kit.keys, kit.scanner)]

    def depart(self, place: str) -> Deed:
        """To the drivers at the place, with the loose seals that are left."""
        self._begin(place, "21:00")
        loose = runs(self.loose[place])
        return self.handoff(self.returned(place), self.chief(place), self.drivers(place), "return", loose=loose)

    def arrive(self, place: str) -> Deed:
        """From the drivers to the desk of the receiving station."""
        self._begin(place, "21:25")
        loose = runs(self.loose[place])
        desk = self.party("receiving_clerk")
        return self.handoff(self.returned(place), self.drivers(place), desk, "return", loose=loose)

    def bring_keys(self, place: str) -> Deed:
        """The chief brings the keys: they never travel with what they open."""
        kit = self._begin(place, "21:40")
        return self.handoff([kit.keys], self.chief(place), self.party("receiving_clerk"), "return")

    def bring_back(self, place: str) -> Deed:
        """Departure, arrival and keys; the arrival is given back."""
        self.depart(place)
        arrival = self.arrive(place)
        self.bring_keys(place)
        return arrival

    def move_on(self, place: str) -> None:
        """The same drivers take the case to the count center, ballots and stock to the vault."""
        kit, desk, drivers = self._begin(place, "22:30"), self.party("receiving_clerk"), self.drivers(place)
        boxes = [*kit.containers, kit.stock]
        self.handoff([kit.case, *boxes], desk, drivers, "transfer", site="RS")
        self._begin(place, "22:45")
        self.handoff([kit.case], drivers, self.party("receiving_clerk", "CC"), "transfer")
        self._begin(place, "23:05")
        self._into_vault(boxes, drivers, "transfer")

    def _into_vault(self, items: Iterable[str], giver: JsonParty, purpose: str) -> None:
        custodians = self.party("vault_custodian")
        self.access("enter", custodians, at=self.at)
        self.handoff(list(items), giver, custodians, purpose, at=self.at)
        self.access("leave", custodians)

    def read_in(self, place: str) -> None:
        """At the count center: case and envelope opened, the device read in, both closed again."""
        kit, team = self._begin(place, "23:30"), self.party("receiving_clerk", "CC")
        self.unseal([kit.case], team, "count", at=self.at)
        self.unpack(kit.case, [kit.envelope], team, at=self.at)
        self.unseal([kit.envelope], team, "count", at=self.at)
        self.unpack(kit.envelope, [kit.memory, kit.tape], team, at=self.at)
        self.step("results_read_in", team, kit.memory, at=self.at)
        self.pack(kit.envelope, [kit.memory, kit.tape], team, at=self.at)
        self.seal([kit.envelope], team, at=self.at)
        self.pack(kit.case, [kit.envelope], team, at=self.at)
        self.seal([kit.case], team)

    def store(self, place: str) -> None:
        """The morning after: the case goes into the vault too."""
        kit = self._begin(place, "10:00", day=1)
        self._into_vault([kit.case], self.party("receiving_clerk", "CC"), "store")

    def fetch_scanner(self, place: str) -> None:
        """The morning after: the drivers bring the scanner back to the warehouse."""
        kit, drivers = self._begin(place, "11:00", day=1), self.drivers(place)
        self.handoff([kit.scanner], self.chief(place), drivers, "return")
        self.wait(20)
        self.handoff([kit.scanner], drivers, self.party("warehouse_clerk"), "return")

    def clean_day(self, place: str) -> None:
        """From the shelf to the vault, everything as it should be: no finding at any time."""
        for phase in self.PHASES:
            getattr(self, phase)(place)

    PHASES = (
        "prepare",
        "issue_kit",
        "open_polls",
        "noon",
        "close_polls",
        "pack_for_return",
        "bring_back",
        "move_on",
        "read_in",
        "store",
        "fetch_scanner",
    )

    def until(self, place: str, phase: str) -> Kit:
        """Every phase up to this one, with it: `until("P01", "close_polls")`."""
        for each in self.PHASES[: self.PHASES.index(phase) + 1]:
            getattr(self, each)(place)
        return self.kits[place]


def derive_world(world: Acts, entries: Iterable[Any] | None = None) -> Book:
    """The book of the whole log, or of these entries of it."""
    return derive(world.recorded() if entries is None else entries, world.register)


def findings_of(world: Acts, now: int | None = None) -> list[Finding]:
    """What the record shows at `now` (else: when every limit has passed), in the order of time and key."""
    entries = [each for each in world.recorded() if now is None or each.time <= now]
    book = derive_world(world, entries)
    merged = merge_findings(each for listed in book.findings.values() for each in listed)
    return [each for each in merged if now is None or each.shown_from <= now]
