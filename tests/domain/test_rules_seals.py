"""Seals as they are read: mismatch, not intact, unread at a handoff, and things that travel bare."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from custody.domain.findings import Finding, Severity
from custody.messages import render
from tests.domain.judged import findings, keys
from tests.world import MAKER, OTHER_MAKER, Deed, World, party, reading
from tests.world_acts import JsonReading

A, B = "S0001000", "S0001001"


class Night(World):
    """P01 with its first box sealed front and back at closing time: A in front, `self.back` behind."""

    def __init__(self) -> None:
        super().__init__(places=1)
        self.box, self.crew = self.kits["P01"].containers[0], self.chief("P01")
        self.at = self.time("20:00")
        self.enter([self.box], self.crew)
        self.seal([(self.box, "front"), (self.box, "back")], self.crew)
        assert self.in_place[self.box, "front"] == A
        self.back = self.in_place[self.box, "back"]

    def look(self, *readings: JsonReading) -> Deed:
        return self.inspect(list(readings), self.crew)

    def front(self, number: str = "", state: str = "intact", maker: str = "") -> JsonReading:
        return reading(self.box, "front", number, state, maker)


def only(found: list[Finding]) -> Finding:
    (finding,) = found
    return finding


# seal-mismatch


def test_another_number_than_the_one_in_place_is_flagged() -> None:
    world = Night()
    look = world.look(world.front("S0001030"))
    assert only(findings(world, "seal-mismatch")) == Finding(
        rule="seal-mismatch",
        scope=(look.id, world.box, "front"),
        severity=Severity.CRITICAL,
        at=look.at,
        election="GEN26",
        site="P01",
        origin="P01",
        entries=(look.id,),
        items=(world.box,),
        seals=(A, "S0001030"),
        message="seal-mismatch",
        params={
            "items": [world.box],
            "seals": [A, "S0001030"],
            "item": world.box,
            "point": "front",
            "expected": A,
            "numbers": ["S0001030"],
        },
    )


def test_the_number_in_place_is_not_flagged() -> None:
    world = Night()
    world.look(world.front(A))
    assert keys(world, "seal-mismatch") == []


def test_each_point_that_differs_is_a_mismatch_of_its_own() -> None:
    world = Night()
    look = world.look(world.front(world.back), reading(world.box, "back", A))
    assert keys(world, "seal-mismatch") == [
        f"seal-mismatch/{look.id}:{world.box}:back",
        f"seal-mismatch/{look.id}:{world.box}:front",
    ]


def test_a_seal_entry_is_no_reading_of_what_was_there() -> None:
    world = Night()
    world.seal([world.front("S0001030")], world.crew)
    assert keys(world, "seal-mismatch") == []


def test_the_words_fit_what_was_seen() -> None:
    world = Night()
    world.look(world.front("S0001030"))
    world.look(world.front("S0001031"), world.front("S0001032"))
    world.look(reading(world.kits["P01"].case, "latch", "S0001033"))
    world.seal([reading(world.kits["P01"].envelope, "flap", "T0000001", maker=MAKER)], world.crew)
    world.look(reading(world.kits["P01"].envelope, "flap", "T0000001", maker=OTHER_MAKER))
    found = findings(world, "seal-mismatch")
    assert [each.message.partition(".")[2] for each in found] == ["", "differ", "none", "maker"]
    words = [render(each) for each in found]
    assert words[0][0] == f"At front of {world.box} the seal was read as S0001030; the record has {A} there."
    assert "S0001031, S0001032" in words[1][0]
    assert words[2][1].startswith("Find out who put it on")


def test_two_readings_of_which_one_is_missing_differ() -> None:
    world = Night()
    world.look(world.front(A), world.front(state="missing"))
    assert only(findings(world, "seal-mismatch")).message == "seal-mismatch.differ"


# seal-not-intact


@pytest.mark.parametrize("state", ["damaged", "not_holding"])
def test_a_seal_that_is_not_whole_or_does_not_hold_is_flagged(state: str) -> None:
    world = Night()
    look = world.look(world.front(A, state), reading(world.box, "back", world.back))
    finding = only(findings(world, "seal-not-intact"))
    assert finding.key == f"seal-not-intact/{world.box}:front:{A}:{state}"
    assert (finding.severity, finding.at, finding.entries) == (Severity.CRITICAL, look.at, (look.id,))
    assert (finding.items, finding.seals) == ((world.box,), (A,))
    assert A in render(finding)[0]


@pytest.mark.parametrize("state", ["missing", "unreadable"])
def test_a_seal_that_is_gone_or_cannot_be_read_is_flagged(state: str) -> None:
    world = Night()
    world.look(world.front(state=state))
    assert keys(world, "seal-not-intact") == [f"seal-not-intact/{world.box}:front:{A}:{state}"]
    assert A in render(only(findings(world, "seal-not-intact")))[0]


def test_an_intact_seal_is_not_flagged() -> None:
    world = Night()
    world.look(world.front(A))
    assert keys(world, "seal-not-intact") == []


def test_the_same_state_read_again_is_the_same_finding_and_rests_on_the_first_entry() -> None:
    world = Night()
    first = world.look(world.front(A, "damaged"))
    world.look(world.front(A, "damaged"))
    world.look(world.front(A, "not_holding"))
    found = findings(world, "seal-not-intact")
    assert [(each.scope[3], each.entries) for each in found] == [
        ("damaged", (first.id,)),
        ("not_holding", (world.log[-1].id,)),
    ]


def test_the_number_named_is_the_one_in_place_after_the_readings() -> None:
    world = Night()
    world.look(world.front("S0001030", "damaged"))
    assert keys(world, "seal-not-intact") == [f"seal-not-intact/{world.box}:front:S0001030:damaged"]


@pytest.mark.parametrize("state", ["missing", "unreadable"])
def test_where_the_record_has_no_seal_there_is_none_to_be_found_wanting(state: str) -> None:
    world = Night()
    world.unseal([(world.box, "front")], world.crew, "replace_seal")
    world.look(world.front(state=state))
    assert keys(world, "seal-not-intact") == []


def test_a_seal_read_before_it_came_off_is_judged_too() -> None:
    world = Night()
    world.unseal([world.front(A, "damaged")], world.crew, "count")
    assert keys(world, "seal-not-intact") == [f"seal-not-intact/{world.box}:front:{A}:damaged"]


# seal-unread


def hand_over(world: Night, *items: str, seals: list[JsonReading]) -> Deed:
    return world.handoff(list(items), world.crew, world.drivers("P01"), "return", seals=seals)


def test_a_seal_that_a_handoff_does_not_read_is_a_notice() -> None:
    world = Night()
    out = hand_over(world, world.box, seals=[world.front(A)])
    finding = only(findings(world, "seal-unread"))
    assert finding.key == f"seal-unread/{out.id}"
    assert (finding.severity, finding.items, finding.origin) == (Severity.NOTICE, (world.box,), "P01")
    assert render(finding)[0] == f"The handoff does not say what the seals showed at {world.box} (back)."


def test_a_handoff_that_reads_every_seal_is_fine() -> None:
    world = Night()
    hand_over(world, world.box, seals=[world.front(state="missing"), reading(world.box, "back", world.back)])
    assert keys(world, "seal-unread") == []


def test_a_point_without_seal_need_not_be_read() -> None:
    world = Night()
    world.unseal([(world.box, "back")], world.crew, "replace_seal")
    hand_over(world, world.box, seals=[world.front(A)])
    assert keys(world, "seal-unread") == []


def in_case(world: Night) -> str:
    """The sealed box inside the transfer case."""
    case = world.kits["P01"].case
    world.enter([case], world.crew)
    world.pack(case, [world.box], world.crew)
    return case


def test_seals_of_what_is_inside_a_container_need_not_be_read() -> None:
    world = Night()
    case = in_case(world)
    hand_over(world, case, seals=[])
    hand_over(world, case, world.box, seals=[])
    assert keys(world, "seal-unread") == []


def test_what_is_handed_over_without_its_container_must_be_read() -> None:
    world = Night()
    in_case(world)
    out = hand_over(world, world.box, seals=[])
    assert keys(world, "seal-unread") == [f"seal-unread/{out.id}"]
    assert keys(world, "contents-differ") == [f"contents-differ/{out.id}"]


# unsealed-transit


def use(world: World, place: str = "P01") -> str:
    """A box of the place with ballots in it: counted, not sealed."""
    kit = world.until(place, "noon")
    world.at = world.time("20:10")
    world.count(kit.containers[0], world.chief(place), {"ballots_in_container": 7})
    return kit.containers[0]


def seal_box(world: World, box: str) -> None:
    world.seal([box], world.chief("P01"))


def leave(world: World, box: str) -> Deed:
    return world.handoff([box], world.chief("P01"), world.drivers("P01"), "return")


def test_a_bare_box_that_leaves_with_the_couriers_is_flagged() -> None:
    world = World(places=1)
    box = use(world)
    out = leave(world, box)
    finding = only(findings(world, "unsealed-transit"))
    assert finding.key == f"unsealed-transit/{out.id}"
    assert (finding.severity, finding.at, finding.site) == (Severity.CRITICAL, out.at, "P01")
    assert (finding.items, finding.origin, finding.entries) == ((box,), "P01", (out.id,))
    assert box in render(finding)[0]


def test_a_sealed_box_that_leaves_with_the_couriers_is_fine() -> None:
    world = World(places=1)
    box = use(world)
    seal_box(world, box)
    leave(world, box)
    assert keys(world, "unsealed-transit") == []


def test_one_open_point_makes_a_box_bare() -> None:
    world = World(places=1)
    box = use(world)
    world.seal([(box, "front")], world.chief("P01"))
    out = leave(world, box)
    assert keys(world, "unsealed-transit") == [f"unsealed-transit/{out.id}"]


def test_the_record_before_the_own_readings_of_the_handoff_counts() -> None:
    world = World(places=1)
    box = use(world)
    seal_box(world, box)
    seals = [reading(box, "front", state="missing"), reading(box, "back", world.in_place[box, "back"])]
    world.handoff([box], world.chief("P01"), world.drivers("P01"), "return", seals=seals)
    assert keys(world, "unsealed-transit") == []
    second = world.handoff([box], world.drivers("P01"), world.party("receiving_clerk"), "return", seals=seals)
    assert keys(world, "unsealed-transit") == [f"unsealed-transit/{second.id}"]


def test_a_number_that_is_read_where_the_record_has_no_seal_does_not_cover_its_own_handoff() -> None:
    world = World(places=1)
    box = use(world)
    seals = [reading(box, "front", A), reading(box, "back", B)]
    out = world.handoff([box], world.chief("P01"), world.drivers("P01"), "return", seals=seals)
    world.handoff([box], world.drivers("P01"), world.party("receiving_clerk"), "return", seals=seals)
    assert keys(world, "unsealed-transit") == [f"unsealed-transit/{out.id}"]


def test_a_reading_that_clears_a_missing_seal_covers_its_own_handoff() -> None:
    world = World(places=1)
    box = use(world)
    seal_box(world, box)
    gone = [reading(box, "front", state="missing")]
    world.inspect(gone, world.chief("P01"))
    leave(world, box)
    assert keys(world, "unsealed-transit") == []


@pytest.mark.parametrize(
    ("act", "flagged"),
    [
        (lambda world, box: world.step("shown_empty", world.chief("P01"), box), False),
        (lambda world, box: world.count(box, world.chief("P01"), {"ballots_in_container": 0}), True),
        (lambda world, box: world.pack(box, [world.kits["P01"].pollbook], world.chief("P01")), True),
        (lambda world, box: world.unseal([reading(box, "front", A)], world.chief("P01"), "emergency"), True),
    ],
)
def test_a_container_shown_empty_may_travel_bare_until_it_is_used_again(
    act: Callable[[World, str], object], flagged: bool
) -> None:
    world = World(places=1)
    box = use(world)
    world.step("shown_empty", world.chief("P01"), box)
    act(world, box)
    out = leave(world, box)
    assert keys(world, "unsealed-transit") == ([f"unsealed-transit/{out.id}"] if flagged else [])


def test_a_container_that_was_never_used_may_travel_bare() -> None:
    world = World(places=1)
    kit = world.until("P01", "issue_kit")
    leave(world, kit.containers[1])
    assert keys(world, "unsealed-transit") == []


def test_ballot_stock_is_no_container_and_may_not_travel_bare() -> None:
    world = World(places=1)
    kit = world.until("P01", "open_polls")
    out = leave(world, kit.stock)
    assert keys(world, "unsealed-transit") == [f"unsealed-transit/{out.id}"]


def test_a_memory_device_that_was_in_a_scanner_may_not_travel_bare() -> None:
    world = World(places=1)
    kit = world.until("P01", "close_polls")
    out = leave(world, kit.memory)
    assert keys(world, "unsealed-transit") == [f"unsealed-transit/{out.id}"]


def test_a_spare_memory_device_that_was_never_used_may() -> None:
    world = World(places=1)
    world.until("P01", "issue_kit")
    world.enter([world.spare.memory], world.chief("P01"))
    leave(world, world.spare.memory)
    assert keys(world, "unsealed-transit") == []


def test_what_policy_does_not_want_sealed_travels_as_it_is() -> None:
    world = World(places=1)
    kit = world.until("P01", "close_polls")
    leave(world, kit.pollbook)
    assert keys(world, "unsealed-transit") == []


def test_a_jurisdiction_may_want_poll_books_sealed() -> None:
    world = World(places=1)
    world.set_policy({"items": {"pollbook": {"controlled": "no", "sealed": "yes", "returned": True}}})
    kit = world.until("P01", "close_polls")
    out = leave(world, kit.pollbook)
    assert keys(world, "unsealed-transit") == [f"unsealed-transit/{out.id}"]


def test_contents_are_looked_at_and_named_once_by_the_outermost_container() -> None:
    world = World(places=1)
    kit = world.until("P01", "close_polls")
    world.pack(kit.envelope, [kit.memory, kit.tape], world.chief("P01"))
    world.pack(kit.case, [kit.envelope], world.chief("P01"))
    world.handoff([kit.case, kit.envelope], world.chief("P01"), world.drivers("P01"), "return")
    assert only(findings(world, "unsealed-transit")).items == (kit.case,)


@pytest.mark.parametrize("closed", ["case", "envelope"])
def test_contents_are_covered_by_any_seal_around_them(closed: str) -> None:
    world = World(places=1)
    kit = world.until("P01", "close_polls")
    world.pack(kit.envelope, [kit.memory, kit.tape], world.chief("P01"))
    if closed == "envelope":
        world.seal([kit.envelope], world.chief("P01"))
    world.pack(kit.case, [kit.envelope], world.chief("P01"))
    if closed == "case":
        world.seal([kit.case], world.chief("P01"))
    world.handoff([kit.case], world.chief("P01"), world.drivers("P01"), "return")
    # A case that is used is itself to be sealed: only a sealed envelope in an open case leaves the case bare.
    assert [each.items for each in findings(world, "unsealed-transit")] == ([] if closed == "case" else [(kit.case,)])


def test_a_bare_thing_inside_what_needs_no_seal_is_named_by_that() -> None:
    world = World(places=1)
    kit = world.until("P01", "close_polls")
    supplies = world.add_item("supply_kit")
    world.enter([supplies], world.chief("P01"))
    world.pack(supplies, [kit.tape], world.chief("P01"))
    leave(world, supplies)
    assert only(findings(world, "unsealed-transit")).items == (supplies,)


def test_what_is_taken_out_of_a_sealed_case_by_its_own_handoff_is_bare() -> None:
    world = World(places=1)
    kit = world.until("P01", "pack_for_return")
    out = leave(world, kit.tape)
    assert keys(world, "unsealed-transit") == [f"unsealed-transit/{out.id}"]


@pytest.mark.parametrize(
    ("release", "receive", "purpose", "flagged"),
    [
        ("receiving_clerk", "vault_custodian", "store", True),
        ("receiving_clerk", "vault_custodian", "return", True),
        ("receiving_clerk", "vault_custodian", "transfer", True),
        ("receiving_clerk", "vault_custodian", "relieve", False),
        ("receiving_clerk", "auditor", "audit", False),
        ("vault_custodian", "auditor", "retrieve", False),
        ("receiving_clerk", "courier", "transfer", True),
    ],
)
@pytest.mark.parametrize("was_at_place", [True, False])
def test_purposes_for_which_things_must_be_sealed(
    release: str, receive: str, purpose: str, flagged: bool, was_at_place: bool
) -> None:
    world = World(places=1)
    if was_at_place:
        box = use(world)
        seal_box(world, box)
        leave(world, box)
        world.handoff([box], world.drivers("P01"), world.party("receiving_clerk"), "return")
        world.unseal([box], world.party("receiving_clerk"), "count")
    else:
        box = world.kits["P01"].containers[0]
        world.enter([box], world.party("receiving_clerk"))
        world.count(box, world.party("receiving_clerk"), {"ballots_in_container": 1})
    taker = world.drivers("P01") if receive == "courier" else world.party(receive)
    out = world.handoff([box], world.party(release), taker, purpose)
    # Of what never was at a polling place, only `return` and `store` ask.
    flagged = flagged and (was_at_place or purpose != "transfer")
    assert keys(world, "unsealed-transit") == ([f"unsealed-transit/{out.id}"] if flagged else [])


def test_on_the_way_out_things_need_no_seal() -> None:
    world = World(places=1)
    box = world.kits["P01"].containers[0]
    clerks = world.party("warehouse_clerk")
    world.enter([box], clerks)
    world.count(box, clerks, {"ballots_in_container": 0})
    world.handoff([box], clerks, world.drivers("P01"), "issue")
    world.handoff([box], world.drivers("P01"), world.chief("P01"), "deliver")
    assert keys(world, "unsealed-transit") == []


def test_between_couriers_on_the_way_back_things_need_a_seal_whatever_the_purpose() -> None:
    world = World(places=2)
    box = use(world)
    seal_box(world, box)
    leave(world, box)
    world.unseal([box], party("courier", "DRIVER-1-P01"), "emergency", site=None)
    out = world.handoff([box], world.drivers("P01"), world.drivers("P02"), "relieve")
    assert keys(world, "unsealed-transit") == [f"unsealed-transit/{out.id}"]


@pytest.mark.parametrize("purpose", ["return", "deliver", "relieve", "transfer"])
def test_leaving_the_place_with_couriers_asks_for_a_seal_whatever_the_purpose(purpose: str) -> None:
    world = World(places=1)
    box = use(world)
    out = world.handoff([box], world.chief("P01"), world.drivers("P01"), purpose)
    assert keys(world, "unsealed-transit") == [f"unsealed-transit/{out.id}"]


@pytest.mark.parametrize(("purpose", "flagged"), [("transfer", True), ("relieve", False)])
def test_a_place_that_transfers_a_thing_had_it(purpose: str, flagged: bool) -> None:
    world = World(places=1)
    world.at = world.time("21:00")
    stock = world.kits["P01"].stock
    out = world.handoff([stock], world.chief("P01"), world.party("receiving_clerk"), purpose)
    assert keys(world, "unsealed-transit") == ([f"unsealed-transit/{out.id}"] if flagged else [])


@pytest.mark.parametrize(("election", "flagged"), [("GEN26", True), ("SPECIAL", False)])
def test_a_transfer_asks_only_of_what_was_at_a_place_in_its_own_election(election: str, flagged: bool) -> None:
    world = World(places=1)
    desk = world.party("receiving_clerk")
    box = use(world)
    seal_box(world, box)
    leave(world, box)
    world.handoff([box], world.drivers("P01"), desk, "return")
    world.unseal([box], desk, "count")
    out = world.handoff([box], desk, world.party("vault_custodian"), "transfer", election=election)
    assert keys(world, "unsealed-transit") == ([f"unsealed-transit/{out.id}"] if flagged else [])


@pytest.mark.parametrize("sealed", [True, False])
def test_what_was_at_a_place_asks_for_a_seal_inside_a_container_that_was_not(sealed: bool) -> None:
    world = World(places=1)
    kit, desk, case = world.until("P01", "bring_back"), world.party("receiving_clerk"), world.spare.case
    world.at = world.time("23:00")
    for container in (kit.case, kit.envelope):
        world.unseal([container], desk, "count")
    world.unpack(kit.case, [kit.envelope], desk)
    world.unpack(kit.envelope, [kit.tape], desk)
    world.enter([case], desk)
    world.pack(case, [kit.tape], desk)
    if sealed:
        world.seal([case], desk)
    out = world.handoff([case], desk, world.party("vault_custodian"), "transfer")
    assert keys(world, "unsealed-transit") == ([] if sealed else [f"unsealed-transit/{out.id}"])
