"""Loose seals of a polling place: used, brought back or reported void by the return deadline, or not yet accounted for."""

from __future__ import annotations

import pytest

from custody.domain.book import Book, work_out
from custody.domain.findings import Severity
from custody.domain.instants import dump_instant
from custody.domain.states import Moment
from custody.messages import render
from tests.domain.judged import findings, statuses
from tests.world import ELECTION, HOUR, OTHER_MAKER, Deed, World, party, reading

RULE = "seal-unaccounted"
KEY = f"{RULE}/{ELECTION}:P01"
NUMBERS = ["L0000001", "L0000002", "L0000003"]
ALL, TWO = "L0000001..L0000003", "L0000001..L0000002"


class Loose(World):
    """Two polling places, and three loose seals, handed to the chief of P01 the day before; the first two are used up."""

    def __init__(self, *, issued: bool = True) -> None:
        super().__init__(places=2)
        for lot in [lot for lot in self.rows["seal_lots"] if lot["lot"] == "LOT-PLACES"]:
            self.change("seal_lots", **lot | {"retired": True})
        self.add_lot("LOT-L", prefix="L", first=1, count=3)
        self.box, self.crew = self.kits["P01"].containers[0], self.chief("P01")
        self.deadline = self.register.elections[ELECTION].return_deadline
        self.at = self.time("09:00", day=-1)
        if issued:
            self.hand(self.party("warehouse_clerk"), self.crew, "issue")
        self.at = self.time("20:00")
        self.enter([self.box], self.crew)
        self.account(TWO)

    def hand(self, release: object, receive: object, purpose: str, *, loose: str = ALL, **more: object) -> Deed:
        return self.handoff([], release, receive, purpose, loose=[loose], **more)  # type: ignore[arg-type]

    def account(self, loose: str) -> Deed:
        return self.incident("seal_void", self.crew, loose=[loose])


def test_a_number_of_which_nothing_is_known_after_the_deadline_is_flagged() -> None:
    world = Loose()
    (finding,) = findings(world, RULE)
    assert finding.key == KEY
    assert (finding.severity, finding.at, finding.site) == (Severity.WARNING, world.deadline, "P01")
    assert (finding.election, finding.entries, finding.items) == (ELECTION, (), ())
    assert (finding.seals, finding.began, finding.cleared) == (("L0000003",), Moment(world.deadline, ""), None)
    assert render(finding)[0] == "Loose seals of P01 are not yet accounted for: L0000003."
    assert statuses(world, RULE) == {KEY: ("open", None)}


def test_what_became_of_a_number_of_another_prefix_says_nothing_of_this_one() -> None:
    world = Loose()
    world.at = world.time("20:30")
    world.hand(world.party("warehouse_clerk"), world.crew, "issue", loose="M0000001..M0000003")
    world.account("M0000001..M0000003")
    (finding,) = findings(world, RULE)
    assert finding.seals == ("L0000003",)
    world.account("L0000003")
    assert findings(world, RULE) == []


def test_a_run_over_the_thousand_is_one_run() -> None:
    world = Loose()
    world.account("L0000003")
    world.hand(world.party("warehouse_clerk"), world.crew, "issue", loose="M0000998..M0001002")
    world.account("M0000999..M0001001")
    (finding,) = findings(world, RULE)
    assert finding.seals == ("M0000998", "M0001002")


def put_on(world: Loose) -> Deed:
    return world.seal([reading(world.box, "front", "L0000003")], world.crew)


def read_on_an_item(world: Loose) -> Deed:
    return world.inspect([reading(world.box, "front", "L0000003")], world.crew)


def read_beside_another(world: Loose) -> Deed:
    return world.inspect([reading(world.box, "front", each) for each in ("S0000001", "L0000003")], world.crew)


def report_void(world: Loose) -> Deed:
    return world.account("L0000003")


def bring_to_receiving(world: Loose) -> Deed:
    return world.hand(world.crew, world.party("receiving_clerk"), "return")


def bring_to_vault(world: Loose) -> Deed:
    return world.hand(world.crew, world.party("vault_custodian"), "return")


def bring_to_warehouse(world: Loose) -> Deed:
    return world.hand(world.crew, world.party("warehouse_clerk"), "return")


def pass_on_to_another_place(world: Loose) -> Deed:
    return world.hand(world.crew, world.chief("P02"), "relieve")


WAYS = [
    put_on,
    read_on_an_item,
    read_beside_another,
    report_void,
    bring_to_receiving,
    bring_to_vault,
    bring_to_warehouse,
]


@pytest.mark.parametrize("way", WAYS)
def test_a_number_that_is_accounted_for_in_time_is_fine(way: object) -> None:
    world = Loose()
    world.at = world.deadline
    way(world)  # type: ignore[operator]
    assert findings(world, RULE) == []


@pytest.mark.parametrize("way", WAYS)
def test_a_number_that_is_accounted_for_later_clears_the_finding(way: object) -> None:
    world = Loose()
    world.at = world.deadline + 1
    done = way(world)  # type: ignore[operator]
    assert statuses(world, RULE) == {KEY: ("cleared", done.id)}
    (finding,) = findings(world, RULE)
    assert (finding.at, finding.seals) == (world.deadline, ("L0000003",))


def test_the_couriers_are_no_end_of_the_way() -> None:
    world = Loose()
    world.hand(world.crew, world.drivers("P01"), "return")
    assert [each.seals for each in findings(world, RULE)] == [("L0000003",)]


def test_a_warehouse_clerk_takes_loose_seals_back_at_the_place_too() -> None:
    world = Loose()
    world.hand(world.crew, party("warehouse_clerk", "CLERK-1", site="P01"), "return")
    assert findings(world, RULE) == []


def test_a_technician_is_no_end_of_the_way() -> None:
    world = Loose()
    world.hand(world.crew, party("technician", "TECH-1"), "return")
    assert [each.key for each in findings(world, RULE)] == [KEY]


def test_numbers_passed_on_to_another_place_are_for_that_place_to_account_for() -> None:
    world = Loose()
    pass_on_to_another_place(world)
    assert [each.key for each in findings(world, RULE)] == [f"{RULE}/{ELECTION}:P02"]


def test_numbers_that_are_issued_again_are_loose_again() -> None:
    world = Loose()
    bring_to_receiving(world)
    assert findings(world, RULE) == []
    world.hand(world.party("receiving_clerk"), world.crew, "transfer", loose="L0000003")
    assert [each.seals for each in findings(world, RULE)] == [("L0000003",)]


def test_a_reading_that_proves_misread_accounts_for_nothing() -> None:
    world = Loose()
    world.seal([reading(world.box, "front", "S0001000")], world.crew)
    read_on_an_item(world)
    assert findings(world, RULE) == []
    world.inspect([reading(world.box, "front", "S0001000")], world.crew)
    assert [each.seals for each in findings(world, RULE)] == [("L0000003",)]


def test_a_use_that_an_amendment_takes_back_accounts_for_nothing() -> None:
    world = Loose()
    used = put_on(world)
    assert findings(world, RULE) == []
    other = [reading(world.box, "front", "S0001000")]
    world.amend(used, world.crew, {"at": dump_instant(used.at + HOUR), "seals": other})
    assert [each.seals for each in findings(world, RULE)] == [("L0000003",)]


def test_the_state_begins_with_the_handoff_when_that_comes_after_the_deadline() -> None:
    world = Loose(issued=False)
    assert findings(world, RULE) == []
    world.at = world.deadline + HOUR
    late = world.hand(world.party("warehouse_clerk"), world.crew, "issue")
    (finding,) = findings(world, RULE)
    assert (finding.at, finding.entries, finding.began) == (late.at, (late.id,), Moment(late.at, late.id))


def test_of_several_such_times_the_last_is_reported_and_open_again() -> None:
    world = Loose()
    world.at = world.deadline + HOUR
    back = bring_to_receiving(world)
    office = party("official", "OFFICE-1")
    said = world.resolve(KEY, office)
    assert statuses(world, RULE) == {KEY: ("cleared", back.id)}
    again = world.hand(world.party("receiving_clerk"), world.crew, "transfer", loose="L0000003")
    assert said.at < again.at
    (finding,) = findings(world, RULE)
    assert (finding.at, finding.began) == (again.at, Moment(again.at, again.id))
    assert statuses(world, RULE) == {KEY: ("open", None)}


def test_a_finding_that_somebody_explained_is_resolved_while_it_lasts() -> None:
    world = Loose()
    office = party("official", "OFFICE-1")
    world.resolve(KEY, office)  # before it began: of no use
    assert statuses(world, RULE) == {KEY: ("open", None)}
    world.at = world.deadline + HOUR
    said = world.resolve(KEY, office)
    assert statuses(world, RULE) == {KEY: ("resolved", said.id)}


def test_the_state_ends_with_the_last_of_its_numbers() -> None:
    world = Loose()
    world.log.pop()  # the first two are open too
    world.at = world.deadline + HOUR
    world.account("L0000002")
    assert [each.seals for each in findings(world, RULE)] == [("L0000001", "L0000003")]
    world.account("L0000001")
    last = world.account("L0000003")
    (finding,) = findings(world, RULE)
    assert (finding.seals, finding.cleared) == (tuple(NUMBERS), Moment(last.at, last.id))
    assert render(finding)[0] == f"Loose seals of P01 are not yet accounted for: {ALL}."


# Issued by the register


def by_register(site: str = "P01", **more: object) -> Loose:
    world = Loose(issued=False)
    lot = world.rows["seal_lots"][-1]
    world.change("seal_lots", **lot | {"issued_to": site} | more)
    return world


def test_a_lot_issued_by_the_register_is_to_be_accounted_for_too() -> None:
    world = by_register()
    assert [(each.key, each.seals, each.at) for each in findings(world, RULE)] == [(KEY, ("L0000003",), world.deadline)]


@pytest.mark.parametrize("way", WAYS)
def test_of_a_lot_by_the_register_every_way_counts_too(way: object) -> None:
    world = by_register()
    way(world)  # type: ignore[operator]
    assert findings(world, RULE) == []


def test_a_lot_issued_to_a_desk_is_no_finding() -> None:
    world = by_register("WH")
    assert findings(world, RULE) == []


def test_a_lot_for_another_election_is_not_asked_for_in_this_one() -> None:
    world = by_register(election="SPECIAL")
    assert findings(world, RULE) == []


def test_a_lot_that_a_later_handoff_takes_elsewhere_is_no_longer_the_places() -> None:
    world = by_register()
    world.hand(world.party("warehouse_clerk"), world.chief("P02"), "issue")
    assert [each.key for each in findings(world, RULE)] == [f"{RULE}/{ELECTION}:P02"]


def test_the_same_number_of_another_maker_does_not_account_for_the_places_own() -> None:
    world = by_register()
    world.add_lot("LOT-L2", prefix="L", first=1, count=3, maker=OTHER_MAKER)
    world.seal([reading(world.box, "front", "L0000003", maker=OTHER_MAKER)], world.crew)
    assert [each.seals for each in findings(world, RULE)] == [("L0000003",)]
    world.seal([reading(world.box, "back", "L0000003")], world.crew)
    assert findings(world, RULE) == []


def test_a_place_of_which_nothing_is_on_record_is_not_asked_after() -> None:
    world = by_register()
    book = Book(world.register)
    work_out(book, (), [f"stock:{ELECTION}/P01"])
    assert book.findings[f"stock:{ELECTION}/P01"] == ()


@pytest.mark.parametrize("amended_first", [False, True])
def test_a_place_that_turns_out_to_have_nothing_on_record_is_not_asked_after(amended_first: bool) -> None:
    world = by_register()
    clerks = world.party("warehouse_clerk")
    deed = world.inspect([reading(world.box, "front", "S1")], clerks, site="P01")
    amend = world.amend(deed, clerks, {"site": "WH"})
    book, arrivals = Book(world.register), [each.recorded for each in (deed, amend)]
    for each in reversed(arrivals) if amended_first else arrivals:
        work_out(book, book.take([each]))
    assert [each.key for listed in book.findings.values() for each in listed if each.rule == RULE] == []
