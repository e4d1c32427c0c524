"""Places where something went differently before the drivers left: while the polls were open, or at the closing.

Each class overrides the acts of an ordinary day that it tells otherwise; its docstring says what happened.
"""

from __future__ import annotations

from collections.abc import Sequence

from .place import Place
from .scribe import Line, Party, party, reading
from .times import MINUTE


class UnplannedSpare(Place):
    """The scanner fails at half past ten and a spare takes over. In the evening its memory device stays in a cabinet."""

    def hour(self, hour: int, at: int) -> None:
        super().hour(hour, at)
        if hour == 3:
            self.replace_scanner(at + 12 * MINUTE, self.cast * SHARE_AT_FAILURE // 100)

    def replace_scanner(self, at: int, counted: int) -> None:
        scribe, crew, spares = self.scribe, self.by(), self.scribe.county.spares
        self.spare, self.spare_memory = spares["scanner"][0], spares["memory_device"][0]
        self.spare_tape = spares["results_tape"][0]
        self.counted = counted
        technicians = party("technician", "TECH-1", "TECH-2")
        things = [self.spare, self.spare_tape]
        note = "It draws ballots in and gives them back uncounted."
        scribe.incident(at, "unit_failure", crew, self.scanner, note=note)
        scribe.step(at + 2 * MINUTE, "auxiliary_bin_opened", crew, self.scanner)
        counters = {"public_counter": counted, "protective_counter": self.lifetime + counted}
        scribe.count(at + 5 * MINUTE, self.scanner, crew, counters)
        clerks = party("warehouse_clerk", "WH-1", "WH-2", site="WH")
        scribe.handoff(at + 6 * MINUTE, things, clerks, technicians, "issue", site="WH")
        scribe.handoff(at + 31 * MINUTE, things, technicians, crew, "deliver")
        scribe.step(at + 33 * MINUTE, "bin_empty", crew, self.spare)
        scribe.step(at + 34 * MINUTE, "auxiliary_bin_empty", crew, self.spare)
        scribe.step(at + 36 * MINUTE, "zero_tape_signed", self.by(3), self.spare_tape)
        scribe.count(at + 38 * MINUTE, self.spare, crew, {"public_counter": 0, "protective_counter": SPARE_LIFETIME})
        scribe.step(at + 44 * MINUTE, "auxiliary_bin_cleared", crew, self.scanner)

    def sign_tape(self, at: int) -> None:
        self.scribe.step(at, "results_tape_signed", self.by(3), self.tape, self.spare_tape)

    def read_counters(self, at: int) -> None:
        more = self.cast - self.counted
        first = {"public_counter": self.counted, "protective_counter": self.lifetime + self.counted}
        self.scribe.count(at, self.scanner, self.by(), first)
        second = {"public_counter": more, "protective_counter": SPARE_LIFETIME + more}
        self.scribe.count(at + 30, self.spare, self.by(), second)

    def open_scanner(self, at: int) -> None:
        self.scribe.unseal(at, [self.scanner, self.spare], self.by(), "close_polls")

    def take_out_memory(self, at: int) -> None:
        super().take_out_memory(at)
        self.scribe.unpack(at + 40, self.spare, [self.spare_memory], self.by())
        self.scribe.step(at + 60, "memory_removed", self.by(), self.spare_memory)

    def empty_bin(self, at: int) -> None:
        self.scribe.step(at, "bin_emptied", self.by(), self.scanner, self.spare)

    def lock_scanner(self, at: int) -> None:
        self.scribe.seal(at, [self.scanner, self.spare], self.by())
        self.scribe.step(at + 30, "unit_locked", self.by(), self.scanner, self.spare)

    def for_first_envelope(self) -> list[str]:
        return [*super().for_first_envelope(), self.spare_tape]


SHARE_AT_FAILURE, SPARE_LIFETIME = 25, 8_112


class BinsNotShown(Place):
    """The auxiliary bin is not looked into in the morning, nor the bin emptied at night; seven ballots are not in the boxes."""

    def show_auxiliary_bin(self, at: int) -> None:
        pass

    def empty_bin(self, at: int) -> None:
        pass

    def in_boxes(self) -> list[int]:
        *full, last = super().in_boxes()
        return [*full, last - 7]


class MemoryLeft(Place):
    """Nobody opens the door of the memory device: it stays in the scanner, which is locked for the night."""

    def open_scanner(self, at: int) -> None:
        self.scribe.unseal(at, [self.scanner], self.by(), "close_polls", points=["bin"])

    def take_out_memory(self, at: int) -> None:
        pass

    def devices(self) -> list[str]:
        return []

    def read_in(self, at: int, team: Party) -> None:
        """The count center finds the tape alone, and waits."""


class TapeShort(Place):
    """The results tape bears two signatures instead of three."""

    def sign_tape(self, at: int) -> None:
        self.scribe.step(at, "results_tape_signed", self.by(2), self.tape)


class CountPutRight(Place):
    """A full box is written down as 100 more than are in it, and put right by the same two a quarter of an hour later."""

    def count_boxes(self, at: int) -> None:
        *full, last = self.in_boxes()
        line: Line | None = None
        for index, (box, ballots) in enumerate(zip(self.used_boxes(), self.in_boxes(), strict=True)):
            written = self.count_box(at + 40 * index, box, ballots + (0 if index else 100))
            line = line or written
        if line is not None:
            figures = {"figures": {"ballots_in_container": (full or [last])[0]}}
            reason = "A handwritten 1 was read as a 2."
            self.scribe.amend(at + 15 * MINUTE, line, self.by(), figures, reason, fresh_batch=True)


class ChiefRelieved(Place):
    """The chief has to leave at one o'clock and hands everything over; a worker of the place goes on."""

    def hour(self, hour: int, at: int) -> None:
        super().hour(hour, at)
        if hour == 6:
            things = self.scribe.outer([code for code in self.kit.all if code != self.tape])
            before, self.role, self.crew = self.by(), "poll_worker", [f"{self.code}-W5", f"{self.code}-W1"]
            self.scribe.handoff(at + 14 * MINUTE, [*things, self.tape], before, self.by(), "relieve")


class OldBadge(Place):
    """A worker signs one count with the badge that she reported lost last week and has found again."""

    def hour(self, hour: int, at: int) -> None:
        if hour == 7:
            self.read_hour(at, hour, self.workers(), old_badge=[f"{self.code}-W3"])
        else:
            super().hour(hour, at)


class StandIn(Place):
    """Somebody helps out who is assigned to nothing."""

    def hour(self, hour: int, at: int) -> None:
        if hour == 8:
            self.read_hour(at, hour, party("poll_worker", "STANDIN-1", f"{self.code}-W2", site=self.code))
        else:
            super().hour(hour, at)


class CheckinsApart(Place):
    """At four o'clock nine more people are checked in than the counter shows; an hour later it has caught up."""

    def hour(self, hour: int, at: int) -> None:
        if hour == 9:
            self.read_hour(at, hour, self.workers(), apart=9)
        else:
            super().hour(hour, at)


class SecondDevice(Place):
    """A second memory device goes into the scanner at three, and nobody takes out the first."""

    def hour(self, hour: int, at: int) -> None:
        super().hour(hour, at)
        if hour == 8:
            self.add_device(at + 10 * MINUTE)

    def add_device(self, at: int) -> None:
        scribe, crew = self.scribe, self.by()
        self.second = scribe.county.spares["memory_device"][-1]
        technicians = party("technician", "TECH-5", "TECH-6")
        clerks = party("warehouse_clerk", "WH-3", "WH-4", site="WH")
        scribe.handoff(at, [self.second], clerks, technicians, "issue", site="WH")
        scribe.handoff(at + 24 * MINUTE, [self.second], technicians, crew, "deliver")
        scribe.unseal(at + 27 * MINUTE, [self.scanner], crew, "service", points=["memory"])
        scribe.pack(at + 29 * MINUTE, self.scanner, [self.second], crew)
        scribe.seal(at + 31 * MINUTE, [self.scanner], crew)

    def take_out_memory(self, at: int) -> None:
        self.scribe.unpack(at, self.scanner, [self.memory, self.second], self.by())
        self.scribe.step(at + 25, "memory_removed", self.by(), self.memory, self.second)

    def devices(self) -> list[str]:
        return [self.memory, self.second]


class VoidSealUsed(Place):
    """A seal that broke in somebody's hand at noon, and was reported void, is put on a box at night."""

    def hour(self, hour: int, at: int) -> None:
        super().hour(hour, at)
        if hour == 5:
            note = "It snapped while we practised."
            self.scribe.incident(at + 7 * MINUTE, "seal_void", self.by(), loose=self.left_over()[:1], note=note)


class SealedAgain(Place):
    """A box is opened once more for ballots found on a table and sealed afresh, and nobody writes down the opening."""

    def seal_boxes(self, at: int) -> None:
        super().seal_boxes(at)
        number = self.left_over().pop(0)
        self.scribe.seal_with(at + 75, [reading(self.boxes[0], "front", number)], self.by())


class BorrowedSeal(Place):
    """Short of seals, the crew takes one from a box of the place next door."""

    def seal_boxes(self, at: int) -> None:
        neighbour = self.scribe.county.loose[f"P{self.number - 1:02}"]
        self.left_over().insert(0, neighbour.pop())
        super().seal_boxes(at)


class AccountApart(Place):
    """The account of the ballots is one short."""

    def account(self) -> dict[str, int]:
        figures = super().account()
        return figures | {"ballots_unused": figures["ballots_unused"] - 1}


class BoxesMiscounted(Place):
    """The closing count says one sealed box more than there are: somebody counted the empty one."""

    def account(self) -> dict[str, int]:
        figures = super().account()
        return figures | {"containers_sealed": figures["containers_sealed"] + 1}


class PollbookLost(Place):
    """A pollbook is missed in the afternoon, and turns up under a coat."""

    def hour(self, hour: int, at: int) -> None:
        super().hour(hour, at)
        if hour == 10:
            book = self.kit.of["pollbook"][2]
            self.scribe.incident(at + 5 * MINUTE, "lost", self.by(), book)
            self.scribe.incident(at + 41 * MINUTE, "found", self.by(), book, fresh_batch=True)


class EnvelopeLeft(Place):
    """The fourth of six envelopes is not in the case."""

    def fill_case(self, at: int) -> None:
        self.scribe.pack(at, self.case, self.without_fourth(), self.by())
        self.seal_case(at + 30)

    def without_fourth(self) -> Sequence[str]:
        return [*self.envelopes[:3], *self.envelopes[4:]]

    def load(self) -> list[str]:
        return [code for code in super().load() if code != self.envelopes[3]]
