"""A polling place's people, things and figures, and what the warehouse does for it in the weeks before."""

from __future__ import annotations

from dataclasses import dataclass

from .scribe import Party, Scribe, party
from .times import MINUTE

CLERKS = (("WH-1", "WH-2"), ("WH-3", "WH-4"), ("WH-5", "WH-6"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """Minutes after the polls closed: the last voter is through and the closing begins, the drivers leave, they arrive."""

    begins: int
    departs: int
    arrives: int
    station: str


class Preparation:
    """One place, `P01` and so on. Instants come from outside; within an act entries follow one another by seconds."""

    def __init__(self, scribe: Scribe, code: str, way: Way) -> None:
        self.scribe, self.times, self.code, self.way = scribe, scribe.times, code, way
        self.number = int(code[1:])
        self.kit = scribe.county.kits[code]
        self.role = "poll_chief"
        self.crew = [f"{code}-CHIEF", f"{code}-W1"]
        self.third = f"{code}-W2"
        self.drivers = party("courier", f"D{code[1:]}-A", f"D{code[1:]}-B")
        self.scanner, self.memory = self.kit.one("scanner"), self.kit.one("memory_device")
        self.case, self.tape = self.kit.one("transfer_case"), self.kit.one("results_tape")
        self.keys, self.stock, self.envelopes = (self.kit.of[kind] for kind in ("key_set", "ballot_stock", "envelope"))
        self.boxes, self.kits = self.kit.of["ballot_container"], self.kit.of["supply_kit"]
        self.received = 1_100 + 37 * self.number
        self.cast = 380 + 23 * self.number
        self.spoiled, self.provisional = 3 + self.number % 5, 2 + self.number % 7
        self.lifetime = 2_400 + 131 * self.number

    # Who is there

    def by(self, people: int = 2) -> Party:
        """The crew that answers for the place; with a third who signs tapes."""
        return party(self.role, *[*self.crew, self.third][:people], site=self.code)

    def workers(self) -> Party:
        return party("poll_worker", f"{self.code}-W3", f"{self.code}-W2", site=self.code)

    def clerks(self, first: int = 0) -> Party:
        """Two clerks of the receiving station, in turns."""
        numbers = ((self.number + first) % 5 + 1, (self.number + first + 2) % 5 + 1)
        return party("receiving_clerk", *(f"{self.way.station}-{number}" for number in numbers), site=self.way.station)

    def warehouse(self) -> Party:
        return party("warehouse_clerk", *CLERKS[self.number % 3], site="WH")

    # Before

    def come_on_record(self, at: int) -> None:
        self.scribe.act("register", at, items=self.kit.all, by=self.warehouse())

    def test(self, at: int) -> None:
        """The device is loaded and goes to work; the scanner counts from nothing; scanner and ballots are sealed."""
        scribe, clerks = self.scribe, self.warehouse()
        scribe.pack(at, self.scanner, [self.memory], clerks)
        scribe.count(at + 6 * MINUTE, self.scanner, clerks, {"public_counter": 0, "protective_counter": self.lifetime})
        scribe.seal(at + 8 * MINUTE, [self.scanner, *self.stock], clerks)

    def pack_kit(self, at: int) -> None:
        clerks = self.warehouse()
        self.scribe.pack(at, self.kits[0], [*self.envelopes, self.tape], clerks)
        self.scribe.step(at + 3 * MINUTE, "keys_tried", clerks, *self.keys)

    def issue(self, at: int) -> None:
        """To the place's drivers, and by them to its crew, who keep it overnight."""
        things = self.scribe.outer(self.kit.all)
        self.scribe.handoff(at, things, self.warehouse(), self.drivers, "issue", site="WH")
        self.scribe.handoff(at + 35 * MINUTE, things, self.drivers, self.by(), "deliver")

    def weeks_before(self) -> None:
        """Stock three weeks before, test two weeks before, the kit in the last week; places follow one another."""
        times, turn = self.times, self.number - 1
        self.come_on_record(times.on(-21, "08:10") + turn * 6 * MINUTE)
        self.test(times.on(-15 + turn // 13, "08:30") + turn % 13 * 20 * MINUTE)
        self.pack_kit(times.on(-4 + turn // 13, "09:00") + turn % 13 * 12 * MINUTE)
        self.issue(times.on(-1, "08:30") + turn * 9 * MINUTE)
