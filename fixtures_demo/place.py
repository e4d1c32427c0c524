"""A polling place whose day goes as it should, from the morning to the vault.

`troubles_day` and `troubles_way` have the places where one act of it went differently: they override that act and no more.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from .preparation import Preparation
from .scribe import Line, Party, Reading, party
from .times import HOUR, MINUTE

# The share of the day's voters who have been, hour by hour: busy at breakfast and after work.
SHARES = (6, 15, 22, 29, 37, 46, 53, 59, 66, 75, 86, 95)


class Place(Preparation):
    """One day of one place. Within an act entries follow one another by seconds."""

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
        return [*self.devices(), self.tape]

    def devices(self) -> list[str]:
        """The memory devices that go back."""
        return [self.memory]

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
        self.hand_out(at)

    def hand_out(self, at: int, **more: Any) -> Line:
        left = self.left_over()
        return self.scribe.handoff(
            at, self.load(), self.by(), self.drivers, "return", site=self.code, loose=left, **more
        )

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
        scribe.step(at + 150, "results_read_in", team, *self.devices())
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

    def evening(self) -> None:
        times, way = self.times, self.way
        self.depart(times.night(way.departs) + self.number)
        self.arrive(times.night(way.arrives) + self.number)
        self.bring_keys(times.night(way.arrives + 14) + self.number)
        # The warehouse opens at eight; a truck goes round.
        self.fetch_scanner(times.on(1, "08:00") + self.number * 11 * MINUTE)
