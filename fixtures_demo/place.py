"""A polling place whose day goes as it should, from the shelf to the receiving station.

`troubles` has the places where one act of it went differently: they override that act and no more.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from .scribe import Line, Party, Reading, Scribe, party
from .times import HOUR, MINUTE

# The share of the day's voters who have been, hour by hour: busy at breakfast and after work.
SHARES = (6, 15, 22, 29, 37, 46, 53, 59, 66, 75, 86, 95)
CLERKS = (("WH-1", "WH-2"), ("WH-3", "WH-4"), ("WH-5", "WH-6"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """When the last voter is through and the closing begins, when the drivers leave, where to and when they arrive; minutes after the polls closed."""

    begins: int
    departs: int
    arrives: int
    station: str


class Place:
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
        self.case, self.tape, self.keys = self.kit.one("transfer_case"), self.kit.one("results_tape"), self.kit.of["key_set"]
        self.stock, self.envelopes, self.kits = (self.kit.of[kind] for kind in ("ballot_stock", "envelope", "supply_kit"))
        self.boxes = self.kit.of["ballot_container"]
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

    # Election day

    def open(self) -> None:
        scribe, crew, opened = self.scribe, self.by(), self.times.opened
        sealed = [self.scanner, *self.stock]

        def before(minutes: int) -> int:
            return opened - minutes * MINUTE + self.number * 4

        scribe.inspect(before(60), sealed, crew)
        scribe.step(before(57), "seals_verified", crew, *sealed)
        scribe.unpack(before(54), self.kits[0], [*self.envelopes, self.tape], crew)
        scribe.step(before(50), "keys_tried", crew, *self.keys)
        scribe.step(before(46), "bin_empty", crew, self.scanner)
        self.show_auxiliary_bin(before(43))
        scribe.step(before(40), "shown_empty", crew, *self.boxes)
        scribe.step(before(34), "zero_tape_signed", self.by(3), self.tape)
        scribe.count(before(31), self.scanner, crew, {"public_counter": 0, "protective_counter": self.lifetime})
        scribe.unseal(before(26), self.stock[:2], crew, "open_polls")
        scribe.count(before(20), self.code, crew, {"ballots_received": self.received})
        scribe.step(opened + self.number, "polls_opened", crew)

    def show_auxiliary_bin(self, at: int) -> None:
        self.scribe.step(at, "auxiliary_bin_empty", self.by(), self.scanner)

    def hours(self) -> None:
        for hour in range(1, 13):
            self.hour(hour, self.times.opened + hour * HOUR + self.number * 11)

    def hour(self, hour: int, at: int) -> None:
        """The public counter against the check-ins."""
        self.read_hour(at, hour, self.workers())

    def read_hour(self, at: int, hour: int, by: Party, *, apart: int = 0, **more: Sequence[str]) -> None:
        counted = self.cast * SHARES[hour - 1] // 100
        figures = {"public_counter": counted, "voters_checked_in": counted + apart + (hour + self.number) % 4}
        self.scribe.count(at, self.code, by, figures, **more)

    # Closing

    def close(self) -> None:
        """Step by step, from when the last voter is through until the case is shut a few minutes before the drivers leave."""
        steps: tuple[Callable[[int], None], ...] = (
            self.say_closed, self.sign_tape, self.read_counters, self.open_scanner, self.take_out_memory, self.empty_bin,
            self.count_boxes, self.seal_boxes, self.write_account, self.seal_stock, self.lock_scanner,
            self.fill_envelopes, self.fill_case,
        )  # fmt: skip
        begins, ends = self.times.night(self.way.begins), self.times.night(self.way.departs - 3)
        for index, step in enumerate(steps):
            step(begins + (ends - begins) * index // len(steps) + self.number)

    def say_closed(self, at: int) -> None:
        self.scribe.step(at, "polls_closed", self.by())

    def sign_tape(self, at: int) -> None:
        self.scribe.step(at, "results_tape_signed", self.by(3), self.tape)

    def read_counters(self, at: int) -> None:
        counters = {"public_counter": self.cast, "protective_counter": self.lifetime + self.cast}
        self.scribe.count(at, self.scanner, self.by(), counters)

    def open_scanner(self, at: int) -> None:
        self.scribe.unseal(at, [self.scanner], self.by(), "close_polls")

    def take_out_memory(self, at: int) -> None:
        self.scribe.unpack(at, self.scanner, [self.memory], self.by())
        self.scribe.step(at + 25, "memory_removed", self.by(), self.memory)

    def empty_bin(self, at: int) -> None:
        self.scribe.step(at, "bin_emptied", self.by(), self.scanner)

    def used_boxes(self) -> list[str]:
        return self.boxes[: 3 if self.cast > 800 else 2]

    def in_boxes(self) -> list[int]:
        """How many ballots go into each box that is used: full ones first."""
        count = len(self.used_boxes())
        full = self.cast * 3 // (3 * count - 1)
        return [*[full] * (count - 1), self.cast - full * (count - 1)]

    def count_boxes(self, at: int) -> None:
        for index, (box, ballots) in enumerate(zip(self.used_boxes(), self.in_boxes(), strict=True)):
            self.count_box(at + 40 * index, box, ballots)

    def count_box(self, at: int, box: str, ballots: int) -> Line:
        return self.scribe.count(at, box, self.by(), {"ballots_in_container": ballots})

    def seal_boxes(self, at: int) -> None:
        self.scribe.seal(at, self.used_boxes(), self.by(), stock=self.code)

    def write_account(self, at: int) -> None:
        self.scribe.count(at, self.code, self.by(), self.account())

    def account(self) -> dict[str, int]:
        return {
            "ballots_received": self.received,
            "ballots_cast": self.cast,
            "ballots_spoiled": self.spoiled,
            "ballots_provisional": self.provisional,
            "ballots_unused": self.received - self.cast - self.spoiled - self.provisional,
            "ballots_auxiliary": 0,
            "voters_checked_in": self.cast + self.provisional,
            "containers_sealed": len(self.used_boxes()),
        }

    def seal_stock(self, at: int) -> None:
        self.scribe.seal(at, self.stock, self.by())

    def lock_scanner(self, at: int) -> None:
        self.scribe.seal(at, [self.scanner], self.by())
        self.scribe.step(at + 30, "unit_locked", self.by(), self.scanner)

    def fill_envelopes(self, at: int) -> None:
        """Device and tape into the first, with what was spoiled and what is provisional in the next two; these are sealed."""
        first, spoiled, provisional = self.envelopes[:3]
        self.scribe.count(at, spoiled, self.by(), {"ballots_spoiled": self.spoiled})
        self.scribe.count(at + 20, provisional, self.by(), {"ballots_provisional": self.provisional})
        self.scribe.pack(at + 40, first, self.for_first_envelope(), self.by())
        self.scribe.seal(at + 60, [first, spoiled, provisional], self.by())

    def for_first_envelope(self) -> list[str]:
        return [self.memory, self.tape]

    def fill_case(self, at: int) -> None:
        self.scribe.pack(at, self.case, self.envelopes, self.by())
        self.seal_case(at + 30)

    def seal_case(self, at: int) -> None:
        self.scribe.seal(at, [self.case], self.by())

    # On the way

    def load(self) -> list[str]:
        """What the drivers take: all but the scanner, the supplies, and the keys, which the chief brings."""
        stay = {self.scanner, *self.keys, *self.kits}
        return [code for code in self.scribe.outer(self.kit.all) if code not in stay]

    def depart(self, at: int) -> None:
        self.scribe.handoff(at, self.load(), self.by(), self.drivers, "return", site=self.code, loose=self.left_over())

    def left_over(self) -> list[str]:
        return self.scribe.county.loose[self.code]

    def arrive(self, at: int) -> None:
        self.hand_in(at, self.load())

    def hand_in(self, at: int, things: list[str], *, seals: list[Reading] | None = None) -> None:
        self.scribe.handoff(at, things, self.drivers, self.clerks(), "return", seals=seals, loose=self.left_over())

    def bring_keys(self, at: int) -> None:
        """The chief brings the keys: they never travel with what they open."""
        self.scribe.handoff(at, self.keys, self.by(1), self.clerks(1), "return")

    # Afterwards

    def move_on(self, at: int) -> None:
        """The same drivers take the case to the count center, ballots and stock to the vault."""
        boxes = [code for code in self.load() if code in self.boxes or code in self.stock]
        self.scribe.handoff(at, [self.case, *boxes], self.clerks(), self.drivers, "transfer", site=self.way.station)
        team = self.counters()
        self.scribe.handoff(at + 9 * MINUTE, [self.case], self.drivers, team, "transfer")
        self.into_vault(at + 17 * MINUTE, boxes)
        self.read_in(at + 14 * MINUTE, team)

    def counters(self) -> Party:
        return party("receiving_clerk", *(f"CC-{(self.number + more) % 6 + 1}" for more in (0, 1)), site="CC")

    def into_vault(self, at: int, boxes: list[str]) -> None:
        custodians = party("vault_custodian", *(f"VA-{(self.number + more) % 4 + 1}" for more in (0, 1)), site="VA")
        self.scribe.access(at - 30, "enter", custodians, "ballots and stock to their shelf")
        self.put_into_vault(at, boxes, custodians)
        self.scribe.access(at + 90, "leave", custodians, "ballots and stock to their shelf")

    def put_into_vault(self, at: int, boxes: list[str], custodians: Party) -> None:
        self.scribe.handoff(at, boxes, self.drivers, custodians, "transfer")

    def read_in(self, at: int, team: Party) -> None:
        """Case and envelope opened, the device read in, both closed again."""
        scribe, envelope, inside = self.scribe, self.envelopes[0], self.for_first_envelope()
        scribe.unseal(at, [self.case], team, "count")
        scribe.unpack(at + 20, self.case, [envelope], team)
        scribe.unseal(at + 40, [envelope], team, "count")
        scribe.unpack(at + 60, envelope, inside, team)
        scribe.step(at + 150, "results_read_in", team, self.memory)
        scribe.pack(at + 200, envelope, inside, team)
        scribe.seal(at + 220, [envelope], team)
        scribe.pack(at + 250, self.case, [envelope], team)
        scribe.seal(at + 270, [self.case], team)

    def fetch_scanner(self, at: int) -> None:
        """The morning after: scanner and supplies go back to the warehouse."""
        things = [self.scanner, *self.kits]
        self.scribe.handoff(at, things, self.by(), self.drivers, "return", site=self.code)
        self.scribe.handoff(at + 25 * MINUTE, things, self.drivers, self.warehouse(), "return")

    # The whole

    def weeks_before(self) -> None:
        """Stock three weeks before, test two weeks before, the kit in the last week; places follow one another."""
        times, turn = self.times, self.number - 1
        self.come_on_record(times.on(-21, "08:10") + turn * 6 * MINUTE)
        self.test(times.on(-15 + turn // 13, "08:30") + turn % 13 * 20 * MINUTE)
        self.pack_kit(times.on(-4 + turn // 13, "09:00") + turn % 13 * 12 * MINUTE)
        self.issue(times.on(-1, "08:30") + turn * 9 * MINUTE)

    def evening(self) -> None:
        times, way = self.times, self.way
        self.depart(times.night(way.departs) + self.number)
        self.arrive(times.night(way.arrives) + self.number)
        self.bring_keys(times.night(way.arrives + 14) + self.number)
        # The warehouse opens at eight; a truck goes round.
        self.fetch_scanner(times.on(1, "08:00") + self.number * 11 * MINUTE)
