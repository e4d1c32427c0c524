"""Seals as they are put on: used once, not void, of a lot on record, where they were issued, over no other seal."""

from __future__ import annotations

import pytest

from custody.domain.findings import Finding, Severity
from custody.messages import render
from tests.domain.judged import findings, keys
from tests.world import HOUR, MAKER, OTHER_MAKER, Deed, World, reading

A, B = "S0001000", "S0001001"  # both issued to P01 by the register
SHARED = "T0000001"  # of two makers, both lots issued to the warehouse


class Evening(World):
    """Two boxes of P01 on record, nothing sealed yet; `put_on` seals the front of the first unless told otherwise."""

    def __init__(self) -> None:
        super().__init__(places=2)
        self.boxes, self.crew = self.kits["P01"].containers, self.chief("P01")
        self.at = self.time("20:00")
        self.enter(self.boxes, self.crew)

    def put_on(self, number: str, *, box: int = 0, point: str = "front", maker: str = "", **more: object) -> Deed:
        return self.seal([reading(self.boxes[box], point, number, maker=maker)], self.crew, **more)


def only(found: list[Finding]) -> Finding:
    (finding,) = found
    return finding


# seal-reused


def test_a_number_put_on_twice_is_flagged_at_the_second() -> None:
    world = Evening()
    world.put_on(A)
    second = world.put_on(A, box=1)
    finding = only(findings(world, "seal-reused"))
    assert finding.key == f"seal-reused/{second.id}:{A}"
    assert (finding.severity, finding.at, finding.entries) == (Severity.CRITICAL, second.at, (second.id,))
    assert (finding.items, finding.seals) == (tuple(sorted(world.boxes)), (A,))
    assert A in render(finding)[0]


def test_two_numbers_are_no_reuse() -> None:
    world = Evening()
    world.put_on(A)
    world.put_on(B, box=1)
    assert keys(world, "seal-reused") == []


def test_each_further_use_is_a_finding_of_its_own() -> None:
    world = Evening()
    world.put_on(A)
    again = [world.put_on(A, box=1), world.put_on(A, point="back")]
    assert keys(world, "seal-reused") == [f"seal-reused/{each.id}:{A}" for each in again]


def test_one_entry_that_puts_a_number_on_at_two_points_is_one_finding() -> None:
    world = Evening()
    twice = world.seal([reading(world.boxes[0], point, A) for point in ("front", "back")], world.crew)
    assert keys(world, "seal-reused") == [f"seal-reused/{twice.id}:{A}"]


def test_the_same_number_where_it_is_in_place_is_a_reading() -> None:
    world = Evening()
    world.put_on(A)
    world.put_on(A)
    assert keys(world, "seal-reused", "seal-over-seal") == []


@pytest.mark.parametrize("how", ["unseal", "missing"])
def test_a_seal_that_came_off_is_not_put_on_again(how: str) -> None:
    world = Evening()
    world.put_on(A)
    if how == "unseal":
        world.unseal([(world.boxes[0], "front")], world.crew, "replace_seal")
    else:
        world.inspect([reading(world.boxes[0], "front", state="missing")], world.crew)
    again = world.put_on(A)
    assert keys(world, "seal-reused") == [f"seal-reused/{again.id}:{A}"]


def test_a_number_that_was_only_read_may_be_put_on() -> None:
    world = Evening()
    world.inspect([reading(world.boxes[0], "front", A)], world.crew)
    world.put_on(A, box=1)
    assert keys(world, "seal-reused") == []


def test_the_same_number_of_two_makers_is_two_seals() -> None:
    world = Evening()
    world.put_on(SHARED, maker=MAKER)
    world.put_on(SHARED, box=1, maker=OTHER_MAKER)
    assert keys(world, "seal-reused") == []
    third = world.put_on(SHARED, box=1, point="back", maker=MAKER)
    assert keys(world, "seal-reused") == [f"seal-reused/{third.id}:{SHARED}"]


def test_a_number_without_maker_is_of_the_only_maker_who_has_it_in_a_lot() -> None:
    world = Evening()
    world.put_on(A)
    second = world.put_on(A, box=1, maker=MAKER)
    world.put_on(A, box=1, point="back", maker=OTHER_MAKER)
    assert keys(world, "seal-reused") == [f"seal-reused/{second.id}:{A}"]


@pytest.mark.parametrize("makers", [("", "", ""), (MAKER, "", ""), ("", MAKER, OTHER_MAKER), (MAKER, OTHER_MAKER, "")])
def test_a_number_of_two_makers_may_be_put_on_twice(makers: tuple[str, str, str]) -> None:
    world = Evening()
    world.put_on(SHARED, maker=makers[0])
    world.put_on(SHARED, box=1, maker=makers[1])
    assert keys(world, "seal-reused") == []
    third = world.put_on(SHARED, box=1, point="back", maker=makers[2])
    assert keys(world, "seal-reused") == [f"seal-reused/{third.id}:{SHARED}"]


def test_within_one_entry_each_use_is_looked_at() -> None:
    world = Evening()
    seals = [(0, "front", MAKER), (0, "back", MAKER), (1, "front", OTHER_MAKER)]
    deed = world.seal(
        [reading(world.boxes[box], point, SHARED, maker=maker) for box, point, maker in seals], world.crew
    )
    assert keys(world, "seal-reused") == [f"seal-reused/{deed.id}:{SHARED}"]


def test_a_number_in_no_lot_may_be_put_on_once() -> None:
    world = Evening()
    world.put_on("X77")
    assert keys(world, "seal-reused") == []
    second = world.put_on("X77", box=1)
    assert keys(world, "seal-reused") == [f"seal-reused/{second.id}:X77"]


def test_a_late_entry_moves_the_reuse_to_whoever_came_second() -> None:
    world = Evening()
    known = world.put_on(A)
    world.put_on(A, box=1, at=known.at - 30, received=known.at + HOUR)
    assert keys(world, "seal-reused") == [f"seal-reused/{known.id}:{A}"]


# seal-void-used


def test_a_number_that_was_reported_void_is_flagged_when_it_is_put_on() -> None:
    world = Evening()
    world.incident("seal_void", world.crew, loose=["S0001000..S0001003"])
    used = world.put_on(B)
    finding = only(findings(world, "seal-void-used"))
    assert finding.key == f"seal-void-used/{used.id}:{B}"
    assert (finding.severity, finding.items, finding.seals) == (Severity.WARNING, (world.boxes[0],), (B,))
    assert B in render(finding)[0]


def test_a_number_beside_the_void_ones_is_fine() -> None:
    world = Evening()
    world.incident("seal_void", world.crew, loose=["S0001002..S0001003"])
    world.put_on(B)
    assert keys(world, "seal-void-used") == []


def test_a_seal_reported_void_after_its_use_is_fine() -> None:
    world = Evening()
    world.put_on(A)
    world.unseal([(world.boxes[0], "front")], world.crew, "replace_seal")
    world.incident("seal_void", world.crew, loose=[A])
    assert keys(world, "seal-void-used") == []


def test_other_incidents_make_no_seal_void() -> None:
    world = Evening()
    world.incident("found", world.crew, loose=[A])
    world.put_on(A)
    assert keys(world, "seal-void-used") == []


# seal-unknown


@pytest.mark.parametrize("number", ["S0000999", "S001000", "Z0001000", "S0001040"])
def test_a_number_in_no_lot_on_record_is_flagged(number: str) -> None:
    world = Evening()
    used = world.put_on(number)
    finding = only(findings(world, "seal-unknown"))
    assert finding.key == f"seal-unknown/{used.id}:{number}"
    assert (finding.severity, finding.items, finding.seals) == (Severity.WARNING, (world.boxes[0],), (number,))
    assert number in render(finding)[0]


@pytest.mark.parametrize("number", ["S0001000", "S0001039"])
def test_the_first_and_the_last_number_of_a_lot_are_known(number: str) -> None:
    world = Evening()
    world.put_on(number)
    assert keys(world, "seal-unknown") == []


def test_a_number_that_another_maker_has_in_a_lot_is_not_on_record() -> None:
    world = Evening()
    used = world.put_on(A, maker=OTHER_MAKER)
    assert keys(world, "seal-unknown") == [f"seal-unknown/{used.id}:{A}"]


def test_an_unknown_number_that_is_only_read_is_a_mismatch_and_no_more() -> None:
    world = Evening()
    world.inspect([reading(world.boxes[0], "front", "S0000999")], world.crew)
    assert keys(world, "seal-unknown") == []


# seal-elsewhere


def test_a_number_of_another_place_is_flagged() -> None:
    world = Evening()
    used = world.put_on("S0002000")
    finding = only(findings(world, "seal-elsewhere"))
    assert finding.key == f"seal-elsewhere/{used.id}:S0002000"
    assert (finding.severity, finding.items, finding.seals) == (Severity.WARNING, (world.boxes[0],), ("S0002000",))
    assert render(finding)[0] == f"Seal S0002000 was put on {world.boxes[0]} at P01; it was issued to P02."


def test_a_number_of_this_place_is_fine() -> None:
    world = Evening()
    world.put_on(A)
    assert keys(world, "seal-elsewhere") == []


def test_on_the_road_there_is_no_site_to_compare() -> None:
    world = Evening()
    world.put_on("S0002000", site=None)
    assert keys(world, "seal-elsewhere") == []


def test_numbers_issued_to_nobody_may_be_used_anywhere() -> None:
    world = Evening()
    world.add_lot("LOT-FREE", prefix="F", first=1, count=10)
    world.put_on("F0000001")
    assert keys(world, "seal-elsewhere") == []


def hand_loose(world: World, *, to: str, number: str = "S0002000") -> Deed:
    """Loose seals from the warehouse to a place's chief, or to its drivers on the move (`P01*`)."""
    taker = world.drivers("P01") if to.endswith("*") else world.chief(to)
    return world.handoff([], world.party("warehouse_clerk"), taker, "issue", loose=[number], site="WH")


def test_a_later_handoff_of_loose_seals_says_where_they_are_issued() -> None:
    world = Evening()
    hand_loose(world, to="P01")
    hand_loose(world, to="P02", number=A)
    world.put_on("S0002000")
    taken = world.put_on(A, box=1)
    assert keys(world, "seal-elsewhere") == [f"seal-elsewhere/{taken.id}:{A}"]


def test_loose_seals_on_the_move_belong_to_no_site() -> None:
    world = Evening()
    hand_loose(world, to="P01*")
    world.put_on("S0002000")
    assert keys(world, "seal-elsewhere") == []


def test_a_handoff_after_the_use_says_nothing_of_it() -> None:
    world = Evening()
    used = world.put_on("S0002000")
    hand_loose(world, to="P01")
    assert keys(world, "seal-elsewhere") == [f"seal-elsewhere/{used.id}:S0002000"]


def test_a_handoff_that_arrives_late_withdraws_the_finding() -> None:
    world = Evening()
    used = world.put_on("S0002000")
    late = hand_loose(world, to="P01")
    world.log.remove(late)
    world.handoff(
        [],
        world.party("warehouse_clerk"),
        world.chief("P01"),
        "issue",
        loose=["S0002000"],
        at=used.at - HOUR,
        received=used.at + HOUR,
    )
    assert keys(world, "seal-elsewhere") == []


def test_of_a_number_that_two_makers_have_either_place_will_do_unless_the_maker_is_named() -> None:
    world = Evening()
    world.add_lot("LOT-B", first=1_000, count=5, site="P02", maker=OTHER_MAKER)
    world.put_on(A)
    named = world.put_on(B, box=1, maker=OTHER_MAKER)
    assert keys(world, "seal-elsewhere") == [f"seal-elsewhere/{named.id}:{B}"]


# seal-over-seal


def test_a_seal_over_one_that_was_never_removed_is_flagged() -> None:
    world = Evening()
    world.put_on(A)
    over = world.put_on(B)
    finding = only(findings(world, "seal-over-seal"))
    assert finding.key == f"seal-over-seal/{over.id}:{world.boxes[0]}:front"
    assert (finding.severity, finding.items, finding.seals) == (Severity.WARNING, (world.boxes[0],), (A,))
    assert A in render(finding)[0]


def test_a_seal_after_the_old_one_came_off_is_fine() -> None:
    world = Evening()
    world.put_on(A)
    world.unseal([(world.boxes[0], "front")], world.crew, "replace_seal")
    world.put_on(B)
    assert keys(world, "seal-over-seal") == []


def test_a_seal_after_the_old_one_was_found_missing_is_fine() -> None:
    world = Evening()
    world.put_on(A)
    world.inspect([reading(world.boxes[0], "front", state="missing")], world.crew)
    world.put_on(B)
    assert keys(world, "seal-over-seal") == []


def test_a_seal_at_another_point_is_fine() -> None:
    world = Evening()
    world.put_on(A)
    world.put_on(B, point="back")
    assert keys(world, "seal-over-seal") == []


def test_a_seal_over_one_that_was_only_read_is_flagged_too() -> None:
    world = Evening()
    world.inspect([reading(world.boxes[0], "front", A)], world.crew)
    over = world.put_on(B)
    assert keys(world, "seal-over-seal") == [f"seal-over-seal/{over.id}:{world.boxes[0]}:front"]


def test_a_late_removal_withdraws_it() -> None:
    world = Evening()
    world.put_on(A)
    over = world.put_on(B)
    world.unseal(
        [reading(world.boxes[0], "front", A)], world.crew, "replace_seal", at=over.at - 30, received=over.at + HOUR
    )
    assert keys(world, "seal-over-seal") == []
