"""What happens in the county's own rooms and at its drop boxes: warehouse, stations, office. Some of it goes differently."""

from __future__ import annotations

from custody.domain.findings import finding_key
from custody.domain.labels import dump_code
from custody.domain.vocabulary import ItemKind

from .scribe import Line, Party, Scribe, party, reading
from .times import DAY, HOUR, MINUTE


class Desks:
    """Staff of the county. `settled` are the findings that somebody will have explained by the start."""

    def __init__(self, scribe: Scribe) -> None:
        self.scribe, self.times, self.spares = scribe, scribe.times, scribe.county.spares

    def clerks(self, first: int = 1) -> Party:
        return party("warehouse_clerk", f"WH-{first}", f"WH-{first + 1}", site="WH")

    # Warehouse

    def weeks_before(self) -> None:
        days = {-21: "take in stock", -15: "test", -14: "test", -4: "pack kits", -3: "pack kits", -1: "issue"}
        for day, purpose in days.items():
            self.scribe.access(self.times.on(day, "08:00"), "enter", self.clerks(), purpose)
            self.scribe.access(self.times.on(day, "16:45"), "leave", self.clerks(), purpose)
        self.release_old_boxes(self.times.on(-21, "09:40"))
        self.take_in_spares()
        self.prepare_spares(self.times.on(-13, "09:00"))
        self.unknown_seal(self.times.on(-9, "10:20"))
        self.alone_in_the_warehouse(self.times.on(-6, "18:05"))

    def release_old_boxes(self, at: int) -> None:
        """Boxes of the election before are used again. Two are shown empty; into the third nobody looks."""
        boxes, clerks, earlier = [self.spares["ballot_container"].pop() for _ in range(3)], self.clerks(5), "EARLIER"
        self.scribe.act("register", at, items=boxes, by=clerks, election=earlier)
        self.scribe.step(at + 6 * MINUTE, "shown_empty", clerks, *boxes[:2], election=earlier)
        for index, each in enumerate((boxes[:2], boxes[2:])):
            when = at + (9 + 3 * index) * MINUTE
            self.scribe.act("dispose", when, items=each, method="released", by=clerks, election=earlier)

    def take_in_spares(self) -> None:
        """One of the lists is typed in two days late."""
        at, late = self.times.on(-21, "11:30"), ""
        for kind, codes in self.spares.items():
            if kind == "envelope":
                late = kind
                continue
            at += 5 * MINUTE
            self.scribe.act("register", at, items=codes, by=self.clerks(3))
        codes, at = self.spares[late], at + 5 * MINUTE
        line = self.scribe.act("register", at, items=codes, by=self.clerks(3), received=at + 2 * DAY + 3 * HOUR)
        self.settle(line, "late-entry", self.times.on(-18, "09:10"), "OFF-1", "accepted", "The list lay in a tray.")

    def prepare_spares(self, at: int) -> None:
        """Every spare scanner gets its device, and its seals."""
        for scanner, memory in zip(self.spares["scanner"], self.spares["memory_device"], strict=False):
            self.scribe.pack(at, scanner, [memory], self.clerks(5))
            self.scribe.seal(at + 4 * MINUTE, [scanner], self.clerks(5))
            at += 12 * MINUTE

    def unknown_seal(self, at: int) -> None:
        """A spare case is closed with a seal from a bag that nobody has entered in the seal log."""
        number = "K0440012"
        line = self.scribe.seal_with(at, [reading(self.spares["transfer_case"][0], "latch", number)], self.clerks())
        reason = "From the samples that came with the order; twelve pieces, now in the cupboard."
        self.settle(line, "seal-unknown", at + DAY, "OFF-2", "explained", reason, number)

    def alone_in_the_warehouse(self, at: int) -> None:
        """A clerk goes back for a coat, alone."""
        one = party("warehouse_clerk", "WH-4", site="WH")
        line = self.scribe.access(at, "enter", one, "left my coat")
        self.scribe.access(at + 4 * MINUTE, "leave", self.clerks(3), "left my coat")
        reason = "The guard at the gate saw the clerk go in and come out four minutes later."
        self.settle(line, "lone-access", self.times.on(-5, "09:30"), "OFF-1", "explained", reason)

    def settle(self, line: Line, rule: str, at: int, person: str, outcome: str, reason: str, *scope: str) -> None:
        role = "auditor" if person.startswith("AUD") else "official"
        key = finding_key(rule, line.id, *scope)
        self.scribe.resolve(at, key, party(role, person), outcome, reason)

    # Election day

    def two_places_at_once(self, one: str, other: str, at: int) -> None:
        """A technician writes up two visits on one phone, a minute apart."""
        by = party("technician", "TECH-3", site=one), party("technician", "TECH-3", site=other)
        lines = [
            self.scribe.incident(at + 60 * index, "other", each, note="Cleaned the rollers.")
            for index, each in enumerate(by)
        ]
        key = finding_key("two-places", "TECH-3", lines[0].id, lines[1].id)
        reason = "Both visits are in the van's log; the second was written up on the way."
        self.scribe.resolve(at + 3 * HOUR, key, party("auditor", "AUD-1"), "explained", reason)

    def unknown_label(self, at: int) -> None:
        """A box stands in the south station whose label no register has."""
        code = next(filter(None, (dump_code(ItemKind.BALLOT_CONTAINER, number) for number in range(7_700, 7_720))))
        by = party("receiving_clerk", "RS-1", "RS-2", site="RS")
        note = "Empty, no papers. Another county's?"
        self.scribe.incident(at, "other", by, code, note=note)

    def drop_boxes(self, number: int, boxes: tuple[str, str], *, together: bool) -> None:
        """Two drivers empty two drop boxes into one container each. If not `together`, one of them is alone at the desk."""
        scribe, times, drivers = self.scribe, self.times, party("courier", f"D{number}-A", f"D{number}-B")
        containers = [self.spares["ballot_container"].pop() for _ in boxes]
        loose = [scribe.county.loose[""].pop(0) for _ in range(6)]
        out = times.on(0, "17:10") + number * MINUTE
        scribe.handoff(out, containers, self.clerks(), drivers, "issue", site="WH", loose=loose)
        for index, (site, container) in enumerate(zip(boxes, containers, strict=True)):
            at = times.night(4 + 18 * index)
            seals = [reading(container, point, loose.pop(0)) for _, point in scribe.points([container])]
            scribe.seal_with(at, seals, drivers, site=site)
            scribe.step(at + 60, "shown_empty", drivers, site=site)
        desk = party("receiving_clerk", "RS-3", "RS-4", site="RS")
        giver = drivers if together else party("courier", drivers["people"][0])
        scribe.handoff(times.night(48 + number - 27), containers, giver, desk, "return", loose=loose)
