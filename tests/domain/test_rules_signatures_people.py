"""Rules of people. Expected values follow the table "Signatures and people" of the rules, row by row."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from custody.domain.findings import Finding, Severity
from tests.domain.rule_checks import found, keys, of_entry, one, what
from tests.world import ELECTION, LARK, MINUTE, WREN, Deed, JsonParty, World, derive_world, party

CLERKS = party("warehouse_clerk", "CLERK-1", "CLERK-2", site="WH")
DRIVERS = party("courier", "DRIVER-1-P01", "DRIVER-2-P01")
LONE = ["CLERK-1"]
PAIR = ["CLERK-1", "CLERK-2"]


@pytest.fixture
def world() -> World:
    """The day before, with the things of P01 in the warehouse: the device in the scanner, scanner and ballots sealed."""
    world = World(places=2)
    world.prepare("P01")
    world.at = world.time("09:00", day=-1)
    return world


# lone-custodian: what takes two

Do = Callable[[World, str, list[str]], Deed]


def pack_it(world: World, code: str, signed_by: list[str]) -> Deed:
    return world.pack(world.kits["P02"].scanner, [code], CLERKS, signed_by=signed_by)


def pack_into_it(world: World, code: str, signed_by: list[str]) -> Deed:
    return world.pack(code, [world.kits["P01"].pollbook], CLERKS, signed_by=signed_by)


def unpack_it(world: World, code: str, signed_by: list[str]) -> Deed:
    return world.unpack(world.kits["P02"].scanner, [code], CLERKS, signed_by=signed_by)


def unpack_from_it(world: World, code: str, signed_by: list[str]) -> Deed:
    return world.unpack(code, [world.kits["P01"].pollbook], CLERKS, signed_by=signed_by)


def seal_it(world: World, code: str, signed_by: list[str]) -> Deed:
    return world.seal([{"item": code, "point": "any", "state": "intact", "number": "S1"}], CLERKS, signed_by=signed_by)


def unseal_it(world: World, code: str, signed_by: list[str]) -> Deed:
    seal = {"item": code, "point": "any", "state": "intact", "number": "S1"}
    return world.unseal([seal], CLERKS, "service", signed_by=signed_by)


def dispose_of_it(world: World, code: str, signed_by: list[str]) -> Deed:
    return world.dispose([code], CLERKS, "released", signed_by=signed_by)


def count_it(world: World, code: str, signed_by: list[str]) -> Deed:
    return world.count(code, CLERKS, {"ballots_in_container": 7}, signed_by=signed_by)


TAKES_TWO: Mapping[str, Do] = {
    "pack it": pack_it,
    "pack into it": pack_into_it,
    "unpack it": unpack_it,
    "unpack from it": unpack_from_it,
    "seal it": seal_it,
    "unseal it": unseal_it,
    "dispose of it": dispose_of_it,
    "count it": count_it,
}


@pytest.mark.parametrize("do", TAKES_TWO.values(), ids=TAKES_TWO.keys())
def test_what_takes_two_is_flagged_when_one_signed(world: World, do: Do) -> None:
    case = world.kits["P01"].case
    deed = do(world, case, LONE)
    assert found(world, "lone-custodian") == [
        of_entry(
            "lone-custodian",
            deed,
            "by",
            severity=Severity.CRITICAL,
            variant="by",
            origin=one(world, "lone-custodian").origin,
            items=(case,),
            people=("CLERK-1",),
            params={"items": [case], "people": ["CLERK-1"], "asked": 2},
        )
    ]
    assert what(one(world, "lone-custodian")) == (f"Handled by CLERK-1 alone, where 2 people are asked for: {case}.")


@pytest.mark.parametrize("do", TAKES_TWO.values(), ids=TAKES_TWO.keys())
def test_what_takes_two_is_as_it_should_be_when_two_signed(world: World, do: Do) -> None:
    do(world, world.kits["P01"].case, PAIR)
    assert keys(world, "lone-custodian") == []


@pytest.mark.parametrize("do", TAKES_TWO.values(), ids=TAKES_TWO.keys())
def test_one_is_enough_for_what_is_not_controlled(world: World, do: Do) -> None:
    do(world, world.kits["P02"].envelope, LONE)
    assert keys(world, "lone-custodian") == []


@pytest.mark.parametrize("do", TAKES_TWO.values(), ids=TAKES_TWO.keys())
def test_where_nobody_of_the_party_signed_the_end_is_unsigned_and_no_more(world: World, do: Do) -> None:
    deed = do(world, world.kits["P01"].case, ["CLERK-3"])
    assert keys(world, "lone-custodian", "end-unsigned") == [f"end-unsigned/{deed.id}:by"]


def hand_over(world: World, *items: str, signed_by: list[str]) -> Deed:
    return world.handoff(items, CLERKS, DRIVERS, "issue", site="WH", signed_by=signed_by)


@pytest.mark.parametrize(
    ("signed_by", "ends", "words"),
    [
        (["CLERK-1", "DRIVER-1-P01", "DRIVER-2-P01"], ["release"], "Given up by CLERK-1 alone"),
        (["CLERK-1", "CLERK-2", "DRIVER-2-P01"], ["receive"], "Received by DRIVER-2-P01 alone"),
        (["CLERK-1", "DRIVER-2-P01"], ["receive", "release"], "Received by DRIVER-2-P01 alone"),
        (["CLERK-1"], ["release"], "Given up by CLERK-1 alone"),
        (["CLERK-1", "CLERK-2", "DRIVER-1-P01", "DRIVER-2-P01"], [], ""),
    ],
)
def test_both_ends_of_a_handoff_take_two(world: World, signed_by: list[str], ends: list[str], words: str) -> None:
    case, pollbook = world.kits["P01"].case, world.kits["P01"].pollbook
    deed = hand_over(world, pollbook, case, signed_by=signed_by)
    assert keys(world, "lone-custodian") == [f"lone-custodian/{deed.id}:{end}" for end in ends]
    assert {each.items for each in found(world, "lone-custodian")} == ({(case,)} if ends else set())
    if ends:
        assert what(found(world, "lone-custodian")[0]) == f"{words}, where 2 people are asked for: {case}."


def test_a_person_named_twice_is_one_person(world: World) -> None:
    twice = party("warehouse_clerk", "CLERK-1", "CLERK-1", site="WH")
    deed = world.pack(world.kits["P01"].case, [world.kits["P01"].pollbook], twice)
    assert keys(world, "lone-custodian") == [f"lone-custodian/{deed.id}:by"]


def test_somebody_of_another_end_or_watching_is_no_second_person(world: World) -> None:
    signed_by = ["CLERK-1", "DRIVER-1-P01", "DRIVER-2-P01", "WATCH-1", "CLERK-3"]
    deed = world.handoff([world.kits["P01"].case], CLERKS, DRIVERS, "issue", signed_by=signed_by, observers=["WATCH-1"])
    assert keys(world, "lone-custodian") == [f"lone-custodian/{deed.id}:release"]


def test_a_container_that_holds_something_controlled_takes_two(world: World) -> None:
    scanner, memory = world.kits["P01"].scanner, world.kits["P01"].memory
    signed_by = ["CLERK-1", "DRIVER-1-P01", "DRIVER-2-P01"]
    deed = hand_over(world, scanner, signed_by=signed_by)
    assert keys(world, "lone-custodian") == [f"lone-custodian/{deed.id}:release"]
    assert one(world, "lone-custodian").items == (scanner,)
    world.log.remove(deed)
    world.unpack(scanner, [memory], CLERKS)
    hand_over(world, scanner, signed_by=signed_by)
    assert keys(world, "lone-custodian") == []


def test_what_lies_two_containers_deep_counts_too(world: World) -> None:
    kit, supplies = world.kits["P01"], world.add_item("supply_kit")
    world.pack(kit.envelope, [kit.tape], CLERKS)
    world.pack(supplies, [kit.envelope], CLERKS)
    deed = world.seal([{"item": supplies, "point": "lid", "state": "intact", "number": "S1"}], CLERKS, signed_by=LONE)
    assert keys(world, "lone-custodian") == [f"lone-custodian/{deed.id}:by"]
    assert one(world, "lone-custodian").items == (supplies,)


def test_contents_that_the_entry_shows_to_be_elsewhere_count_no_longer(world: World) -> None:
    kit = world.kits["P01"]
    world.pack(kit.envelope, [kit.tape], CLERKS)
    alone = world.dispose([kit.envelope], CLERKS, "released", signed_by=LONE)
    assert keys(world, "lone-custodian", "contents-differ") == [f"contents-differ/{alone.id}"]
    world.log.remove(alone)
    together = world.dispose([kit.envelope, kit.tape], CLERKS, "released", signed_by=LONE)
    assert keys(world, "lone-custodian", "contents-differ") == [f"lone-custodian/{together.id}:by"]


def test_an_envelope_takes_two_once_a_count_is_written_on_it(world: World) -> None:
    envelope = world.kits["P01"].envelope
    count_it(world, envelope, LONE)
    again = count_it(world, envelope, LONE)
    moved = hand_over(world, envelope, signed_by=["CLERK-1", "DRIVER-1-P01", "DRIVER-2-P01"])
    assert keys(world, "lone-custodian") == [f"lone-custodian/{again.id}:by", f"lone-custodian/{moved.id}:release"]


@pytest.mark.parametrize(
    ("figures", "flagged"),
    [
        ({"public_counter": 0, "protective_counter": 900}, False),
        ({"public_counter": 0, "ballots_in_container": 1}, True),
    ],
)
def test_reading_the_counters_of_a_scanner_is_no_count_that_takes_two(
    world: World, figures: dict[str, int], flagged: bool
) -> None:
    world.set_policy({"items": {"scanner": {"controlled": "yes", "sealed": "yes", "returned": False}}})
    world.log.clear()
    deed = world.count(world.kits["P01"].scanner, CLERKS, figures, signed_by=LONE)
    assert keys(world, "lone-custodian") == ([f"lone-custodian/{deed.id}:by"] if flagged else [])


def test_a_scanner_with_a_device_inside_is_not_itself_counted_by_two(world: World) -> None:
    world.count(world.kits["P01"].scanner, CLERKS, {"ballots_in_container": 1}, signed_by=LONE)
    assert keys(world, "lone-custodian") == []


def test_figures_of_a_site_take_one(world: World) -> None:
    world.count("WH", CLERKS, {"ballots_received": 10}, signed_by=LONE)
    assert keys(world, "lone-custodian") == []


def test_reading_seals_registering_and_reporting_take_one(world: World) -> None:
    kit = world.kits["P01"]
    world.inspect([kit.stock], CLERKS, signed_by=LONE)
    world.enter([world.kits["P02"].case], CLERKS, signed_by=LONE)
    world.incident("damaged", CLERKS, kit.case, signed_by=LONE)
    world.hold(CLERKS, kit.case, signed_by=LONE)
    assert keys(world, "lone-custodian") == []


STEPS = {
    "bin_empty": True,
    "auxiliary_bin_empty": True,
    "auxiliary_bin_opened": True,
    "auxiliary_bin_cleared": True,
    "bin_emptied": True,
    "shown_empty": True,
    "seals_verified": False,
    "zero_tape_signed": False,
    "memory_removed": False,
    "unit_locked": False,
}


@pytest.mark.parametrize(("step", "flagged"), STEPS.items())
@pytest.mark.parametrize("signed_by", [LONE, PAIR], ids=["one", "two"])
def test_a_step_that_takes_two_is_flagged_when_one_signed(
    world: World, step: str, flagged: bool, signed_by: list[str]
) -> None:
    deed = world.step(step, CLERKS, world.kits["P01"].case, signed_by=signed_by)
    expected = of_entry(
        "lone-custodian",
        deed,
        "by",
        severity=Severity.CRITICAL,
        variant="step",
        people=("CLERK-1",),
        params={"people": ["CLERK-1"], "asked": 2, "step": step},
    )
    assert found(world, "lone-custodian") == ([expected] if flagged and signed_by == LONE else [])


def test_policy_says_how_many_people_a_step_takes(world: World) -> None:
    world.set_policy({"people": {"steps": {"bin_empty": 3}}})
    deed = world.step("bin_empty", CLERKS)
    world.step("shown_empty", CLERKS, signed_by=LONE)
    assert keys(world, "lone-custodian") == [f"lone-custodian/{deed.id}:by"]
    assert what(one(world, "lone-custodian")) == (
        "The step “ballot bin shown empty” takes 3 people; signed by CLERK-1, CLERK-2 alone."
    )


@pytest.mark.parametrize(("number", "flagged"), [(3, True), (2, False), (1, False)])
def test_policy_says_how_many_people_controlled_things_take(world: World, number: int, flagged: bool) -> None:
    world.set_policy({"people": {"controlled": number}}, valid_from="2026-11-02T00:00:00Z")
    deed = count_it(world, world.kits["P01"].case, PAIR)
    assert keys(world, "lone-custodian") == ([f"lone-custodian/{deed.id}:by"] if flagged else [])


def except_one(world: World, kind: str, act: str, site_kind: str) -> None:
    exception = {"kind": kind, "act": act, "site_kind": site_kind, "number": 1}
    world.set_policy({"people": {"exceptions": [exception]}})


@pytest.mark.parametrize(
    ("exception", "flagged"),
    [
        (("transfer_case", "count", "warehouse"), False),
        (("ballot_container", "count", "warehouse"), True),
        (("transfer_case", "seal", "warehouse"), True),
        (("transfer_case", "count", "vault"), True),
    ],
)
def test_a_written_exception_holds_for_its_kind_its_act_and_its_kind_of_site(
    world: World, exception: tuple[str, str, str], flagged: bool
) -> None:
    except_one(world, *exception)
    deed = count_it(world, world.kits["P01"].case, LONE)
    assert keys(world, "lone-custodian") == ([f"lone-custodian/{deed.id}:by"] if flagged else [])


def test_an_exception_does_not_cover_what_lies_inside(world: World) -> None:
    except_one(world, "transfer_case", "seal", "warehouse")
    kit = world.kits["P01"]
    world.seal([kit.case], CLERKS, signed_by=LONE)
    assert keys(world, "lone-custodian") == []
    world.unseal([kit.case], CLERKS, "service")
    world.pack(kit.case, [kit.tape], CLERKS)
    deed = world.seal([kit.case], CLERKS, signed_by=LONE)
    assert keys(world, "lone-custodian") == [f"lone-custodian/{deed.id}:by"]


def test_what_is_on_no_register_asks_for_nobody(world: World) -> None:
    count_it(world, "BC00000X", LONE)
    assert keys(world, "lone-custodian") == []


# same-affiliation


def befriend(world: World, *people: str, affiliation: str = LARK) -> None:
    for person in people:
        world.change("people", code=person, affiliation=affiliation)


def test_couriers_of_one_affiliation_with_a_controlled_thing_are_flagged(world: World) -> None:
    befriend(world, "DRIVER-2-P01")
    case = world.kits["P01"].case
    deed = world.handoff([case], CLERKS, DRIVERS, "issue", site="WH")
    assert found(world, "same-affiliation") == [
        of_entry(
            "same-affiliation",
            deed,
            "receive",
            severity=Severity.WARNING,
            variant="receive",
            people=("DRIVER-1-P01", "DRIVER-2-P01"),
            params={"people": ["DRIVER-1-P01", "DRIVER-2-P01"], "affiliation": LARK},
            origin=None,
        )
    ]
    assert what(one(world, "same-affiliation")) == (
        "Those who received this are all of one affiliation, Lark: DRIVER-1-P01, DRIVER-2-P01."
    )


@pytest.mark.parametrize("affiliation", [WREN, ""], ids=["another", "none"])
def test_couriers_who_differ_are_as_it_should_be(world: World, affiliation: str) -> None:
    befriend(world, "DRIVER-2-P01", affiliation=affiliation)
    world.handoff([world.kits["P01"].case], CLERKS, DRIVERS, "issue")
    assert keys(world, "same-affiliation") == []


def test_two_couriers_without_affiliation_differ_from_each_other(world: World) -> None:
    befriend(world, "DRIVER-1-P01", "DRIVER-2-P01", affiliation="")
    world.handoff([world.kits["P01"].case], CLERKS, DRIVERS, "issue")
    assert keys(world, "same-affiliation") == []


def test_only_those_who_signed_are_compared(world: World) -> None:
    befriend(world, "DRIVER-1-P02")
    three = party("courier", "DRIVER-1-P01", "DRIVER-2-P01", "DRIVER-1-P02")
    first_and_last = [*PAIR, "DRIVER-1-P01", "DRIVER-1-P02"]
    deed = world.handoff([world.kits["P01"].case], CLERKS, three, "issue", signed_by=first_and_last)
    assert keys(world, "same-affiliation") == [f"same-affiliation/{deed.id}:receive"]
    world.sign_later(deed, "DRIVER-2-P01")
    assert keys(world, "same-affiliation") == []


def test_a_lone_courier_is_of_no_affiliation_to_speak_of(world: World) -> None:
    befriend(world, "DRIVER-2-P01")
    world.handoff([world.kits["P01"].case], CLERKS, DRIVERS, "issue", signed_by=[*PAIR, "DRIVER-1-P01"])
    assert keys(world, "same-affiliation") == []


def test_the_releasing_end_and_other_acts_of_couriers_are_looked_at(world: World) -> None:
    befriend(world, "DRIVER-2-P01")
    kit = world.kits["P01"]
    world.handoff([kit.case], CLERKS, DRIVERS, "issue")
    packed = world.pack(kit.case, [kit.pollbook], DRIVERS)
    given = world.handoff([kit.case], DRIVERS, world.chief("P01"), "deliver")
    assert [(each.scope, what(each).partition(",")[0]) for each in found(world, "same-affiliation")[1:]] == [
        ((packed.id, "by"), "Those who did this are all of one affiliation"),
        ((given.id, "release"), "Those who gave this up are all of one affiliation"),
    ]


def test_couriers_of_one_affiliation_may_do_with_what_is_not_controlled(world: World) -> None:
    befriend(world, "DRIVER-2-P01")
    kit = world.kits["P01"]
    world.handoff([kit.pollbook, kit.keys], CLERKS, DRIVERS, "issue")
    world.inspect([kit.stock], DRIVERS)
    world.step("shown_empty", DRIVERS, kit.envelope)
    assert keys(world, "same-affiliation") == []
    deed = world.step("shown_empty", DRIVERS, kit.case)
    assert keys(world, "same-affiliation") == [f"same-affiliation/{deed.id}:by"]


def test_other_parties_need_not_differ_but_for_sealing_a_ballot_container(world: World) -> None:
    befriend(world, "CLERK-2")
    kit = world.kits["P01"]
    world.seal([kit.case], CLERKS)
    world.pack(kit.containers[0], [kit.pollbook], CLERKS)
    assert keys(world, "same-affiliation") == []
    deed = world.seal([kit.containers[0]], CLERKS)
    assert keys(world, "same-affiliation") == [f"same-affiliation/{deed.id}:by"]
    world.unseal([kit.containers[0]], CLERKS, "service")
    assert keys(world, "same-affiliation") == [f"same-affiliation/{deed.id}:by"]


def test_those_who_differ_may_seal_a_ballot_container(world: World) -> None:
    world.seal([world.kits["P01"].containers[0]], CLERKS)
    assert keys(world, "same-affiliation") == []


@pytest.mark.parametrize(
    ("differ", "expected"),
    [
        ({}, ["by", "receive"]),
        ({"courier": False}, ["by"]),
        ({"seal": []}, ["receive"]),
        ({"courier": False, "seal": ["transfer_case"]}, []),
    ],
)
def test_policy_says_who_has_to_differ(world: World, differ: dict[str, Any], expected: list[str]) -> None:
    world.set_policy({"people": {"differ_in_affiliation": differ}}, valid_from="2026-11-02T00:00:00Z")
    befriend(world, "CLERK-2", "DRIVER-2-P01")
    world.seal([world.kits["P01"].containers[0]], CLERKS)
    world.handoff([world.kits["P01"].case], CLERKS, DRIVERS, "issue")
    assert [each.scope[1] for each in found(world, "same-affiliation")] == expected


# not-assigned


def look(world: World, by: JsonParty, **more: Any) -> Deed:
    """Something that anybody may do: reading a seal."""
    return world.inspect([world.kits["P01"].stock], by, **more)


def test_a_party_of_whom_nobody_has_its_role_is_flagged(world: World) -> None:
    deed = look(world, party("vault_custodian", "CLERK-1", "CLERK-2", site="WH"))
    assert found(world, "not-assigned") == [
        of_entry(
            "not-assigned",
            deed,
            "by",
            severity=Severity.WARNING,
            variant="by",
            people=("CLERK-1", "CLERK-2"),
            params={"people": ["CLERK-1", "CLERK-2"], "role": "vault_custodian"},
        )
    ]
    assert what(one(world, "not-assigned")) == (
        "Nobody who did this is assigned there as vault custodian: CLERK-1, CLERK-2."
    )


def test_one_of_a_party_with_its_role_is_enough(world: World) -> None:
    look(world, party("vault_custodian", "CLERK-1", "VAULT-1", site="WH"))
    assert keys(world, "not-assigned") == []


def test_each_end_of_a_handoff_is_looked_at(world: World) -> None:
    giver, taker = party("vault_custodian", "CLERK-1"), party("official", "DRIVER-1-P01")
    deed = world.handoff([world.kits["P01"].pollbook], giver, taker, "transfer")
    assert keys(world, "not-assigned") == [f"not-assigned/{deed.id}:receive", f"not-assigned/{deed.id}:release"]
    assert [what(each) for each in found(world, "not-assigned")] == [
        "At the receiving end nobody is assigned there as official: DRIVER-1-P01.",
        "At the releasing end nobody is assigned there as vault custodian: CLERK-1.",
    ]


@pytest.mark.parametrize(("chief", "flagged"), [("CHIEF-P01", False), ("CHIEF-P02", True)])
def test_at_a_polling_place_the_role_has_to_be_one_at_that_place(world: World, chief: str, flagged: bool) -> None:
    deed = look(world, party("poll_chief", chief, site="P01"))
    assert keys(world, "not-assigned") == ([f"not-assigned/{deed.id}:by"] if flagged else [])
    world.assign(chief, "poll_chief")  # at no place in particular
    assert keys(world, "not-assigned") == []


def test_elsewhere_the_role_may_be_one_at_any_site(world: World) -> None:
    look(world, party("receiving_clerk", "DESK-1", site="CC"))
    look(world, party("poll_chief", "CHIEF-P02"), site="P01")
    assert keys(world, "not-assigned") == []


def test_somebody_with_no_role_at_all_is_flagged_beside_one_who_has_it(world: World) -> None:
    world.change("people", code="GUEST-1")
    deed = look(world, party("warehouse_clerk", "CLERK-1", "GUEST-1", site="WH"), signed_by=LONE)
    assert found(world, "not-assigned") == [
        of_entry(
            "not-assigned",
            deed,
            "by",
            severity=Severity.WARNING,
            variant="without",
            people=("GUEST-1",),
            params={"people": ["GUEST-1"], "role": "warehouse_clerk"},
        )
    ]
    assert what(one(world, "not-assigned")) == (
        "Named in this entry, but assigned to nothing in this election: GUEST-1."
    )
    world.assign("GUEST-1", "observer")
    assert keys(world, "not-assigned") == []


def test_a_role_in_another_election_does_not_count(world: World) -> None:
    row = world.rows["elections"][0] | {"code": "SPC27"}
    world.change("elections", **row)
    deed = look(world, CLERKS, election="SPC27")
    assert keys(world, "not-assigned") == [f"not-assigned/{deed.id}:by"]
    world.change("assignments", election="SPC27", person="CLERK-1", role="warehouse_clerk", site="WH")
    world.change("assignments", election="SPC27", person="CLERK-2", role="courier")
    assert keys(world, "not-assigned") == []


def test_an_assignment_taken_back_does_not_count(world: World) -> None:
    deed = look(world, party("vault_custodian", "VAULT-1", "CLERK-1", site="VA"))
    assert keys(world, "not-assigned") == []
    world.assign("VAULT-1", "vault_custodian", site="VA", retired=True)
    assert keys(world, "not-assigned") == [f"not-assigned/{deed.id}:by"]


def test_a_party_that_names_nobody_has_nobody_with_its_role(world: World) -> None:
    deed = look(world, party("courier"), site="WH")
    assert keys(world, "not-assigned") == [f"not-assigned/{deed.id}:by"]
    assert what(one(world, "not-assigned")) == "One end of this entry names a courier, but no people."


# not-on-register


def test_what_the_register_has_is_not_flagged(world: World) -> None:
    world.count("WH", CLERKS, {"ballots_received": 1})
    world.access("enter", CLERKS, visitors=["A locksmith"])
    look(world, CLERKS, observers=["WATCH-1"], paper="F-17", transcriber="CLERK-3")
    assert keys(world, "not-on-register") == []


UNKNOWN: Mapping[str, tuple[Callable[[World], Deed], str]] = {
    "item": (lambda world: world.incident("damaged", CLERKS, "BC0", world.kits["P01"].case), "BC0"),
    "container": (lambda world: world.pack("BC0", [world.kits["P01"].pollbook], CLERKS), "BC0"),
    "subject": (lambda world: world.count("XX", CLERKS, {"ballots_cast": 1}), "XX"),
    "person of the party": (lambda world: look(world, party("warehouse_clerk", "CLERK-1", "NOBODY")), "NOBODY"),
    "observer": (lambda world: look(world, CLERKS, observers=["NOBODY"]), "NOBODY"),
    "transcriber": (lambda world: look(world, CLERKS, paper="F-17", transcriber="NOBODY"), "NOBODY"),
    "site": (lambda world: look(world, CLERKS, site="XX"), "XX"),
    "site of the party": (lambda world: look(world, party("official", "OFFICE-1", site="XX"), site="WH"), "XX"),
    "election": (lambda world: look(world, CLERKS, election="GEN62"), "GEN62"),
}


@pytest.mark.parametrize(("do", "code"), UNKNOWN.values(), ids=UNKNOWN.keys())
def test_a_code_that_the_register_does_not_have_is_flagged(
    world: World, do: Callable[[World], Deed], code: str
) -> None:
    deed = do(world)
    finding = one(world, "not-on-register")
    assert (finding.key, finding.severity) == (f"not-on-register/{deed.id}", Severity.WARNING)
    assert what(finding) == f"Not on the register: {code}."


def test_a_seal_point_that_an_item_does_not_have_is_flagged(world: World) -> None:
    case = world.kits["P01"].case
    seals = [
        {"item": case, "point": point, "state": "intact", "number": f"S900000{n}"}
        for n, point in enumerate(("latch", "lid"))
    ]
    deed = world.seal(seals, CLERKS)
    assert found(world, "not-on-register") == [
        of_entry(
            "not-on-register",
            deed,
            severity=Severity.WARNING,
            items=(case,),
            params={"items": [case], "unknown": [f"{case} (lid)"]},
        )
    ]


def test_all_that_is_unknown_in_an_entry_is_one_finding(world: World) -> None:
    deed = world.seal(
        [{"item": "BC0", "point": "lid", "state": "intact", "number": "S1"}],
        party("official", "SOME-2", "SOME-1", site="XX"),
        site="YY",
        election="GEN62",
    )
    assert found(world, "not-on-register") == [
        of_entry(
            "not-on-register",
            deed,
            severity=Severity.WARNING,
            site="YY",
            election="GEN62",
            items=("BC0",),
            people=("SOME-1", "SOME-2"),
            params={
                "items": ["BC0"],
                "people": ["SOME-1", "SOME-2"],
                "unknown": ["GEN62", "XX", "YY", "SOME-1", "SOME-2", "BC0"],
            },
        )
    ]


def test_a_code_put_on_the_register_later_is_not_flagged(world: World) -> None:
    look(world, CLERKS, site="XX")
    assert len(keys(world, "not-on-register")) == 1
    world.change("sites", code="XX", name="Site XX", kind="warehouse", address="9 Hill Road")
    assert keys(world, "not-on-register") == []


# lone-access

VAULT = party("vault_custodian", "VAULT-1", "VAULT-2", site="VA")


def test_a_storage_place_entered_by_one_is_flagged(world: World) -> None:
    deed = world.access("enter", VAULT, signed_by=["VAULT-2"])
    assert found(world, "lone-access") == [
        of_entry(
            "lone-access",
            deed,
            severity=Severity.WARNING,
            site="VA",
            people=("VAULT-2",),
            params={"people": ["VAULT-2"], "place": "VA", "asked": 2},
        )
    ]
    assert what(one(world, "lone-access")) == "VA was entered by VAULT-2 alone, where 2 people are asked for."


def test_a_storage_place_entered_by_two_is_as_it_should_be(world: World) -> None:
    world.access("enter", VAULT)
    assert keys(world, "lone-access") == []


def test_one_may_leave_a_storage_place(world: World) -> None:
    world.access("leave", VAULT, signed_by=["VAULT-2"])
    assert keys(world, "lone-access") == []


@pytest.mark.parametrize(
    ("site", "flagged"), [("WH", True), ("VA", True), ("RS", False), ("P01", False), (None, False)]
)
def test_storage_places_are_vaults_and_warehouses(world: World, site: str | None, flagged: bool) -> None:
    deed = world.access("enter", VAULT, signed_by=["VAULT-2"], site=site)
    assert keys(world, "lone-access") == ([f"lone-access/{deed.id}"] if flagged else [])


def test_no_signature_at_all_is_fewer_than_asked_too(world: World) -> None:
    deed = world.access("enter", VAULT, signed_by=["CLERK-1", "WATCH-1"], observers=["WATCH-1"])
    assert keys(world, "lone-access", "end-unsigned") == [f"end-unsigned/{deed.id}:by", f"lone-access/{deed.id}"]
    assert what(one(world, "lone-access")) == ("VA was entered, and none of the 2 people who are asked for has signed.")


@pytest.mark.parametrize(("asked", "flagged"), [(1, False), (3, True)])
def test_policy_says_how_many_enter_a_storage_place(world: World, asked: int, flagged: bool) -> None:
    world.set_policy({"people": {"access": asked}})
    signed_by = ["VAULT-1"] if asked == 1 else ["VAULT-1", "VAULT-2"]
    deed = world.access("enter", VAULT, signed_by=signed_by)
    assert keys(world, "lone-access") == ([f"lone-access/{deed.id}"] if flagged else [])


# two-places

WORKERS = party("poll_worker", "WORKER-1-P01")


def be_at(world: World, site: str | None, *, after: int = 0, **more: Any) -> Deed:
    """The worker signs something at a site, so many seconds after the clock."""
    return look(world, WORKERS, site=site, at=world.at + after, **more)


def test_one_person_at_two_addresses_within_minutes_is_flagged(world: World) -> None:
    first, second = be_at(world, "P01"), be_at(world, "P02", after=5 * MINUTE - 1)
    assert found(world, "two-places") == [
        Finding(
            rule="two-places",
            scope=("WORKER-1-P01", first.id, second.id),
            severity=Severity.WARNING,
            at=second.at,
            election=ELECTION,
            site="P02",
            entries=(first.id, second.id),
            people=("WORKER-1-P01",),
            message="two-places",
            params={"person": "WORKER-1-P01", "before": "P01", "after": "P02", "minutes": 5},
        )
    ]
    assert what(one(world, "two-places")) == ("WORKER-1-P01 signed at P01 and at P02 with less than 5 minutes between.")


def test_the_shortest_travel_time_is_enough(world: World) -> None:
    be_at(world, "P01")
    be_at(world, "P02", after=5 * MINUTE)
    assert keys(world, "two-places") == []


def test_two_entries_at_one_site_are_no_journey_even_without_an_address(world: World) -> None:
    world.change("sites", code="P01", name="Site P01", kind="polling_place")
    be_at(world, "P01")
    be_at(world, "P01", after=1)
    assert keys(world, "two-places") == []


@pytest.mark.parametrize(("address", "flagged"), [("1 School Lane", False), ("", True), ("1 School Lane, yard", True)])
def test_two_sites_of_one_address_are_one_place_unless_it_is_empty(world: World, address: str, flagged: bool) -> None:
    world.change("sites", code="P02", name="Site P02", kind="polling_place", address=address)
    first, second = be_at(world, "P01"), be_at(world, "P02", after=1)
    assert keys(world, "two-places") == ([f"two-places/WORKER-1-P01:{first.id}:{second.id}"] if flagged else [])


def test_two_sites_without_an_address_differ(world: World) -> None:
    for site in ("P01", "P02"):
        world.change("sites", code=site, name=f"Site {site}", kind="polling_place")
    first, second = be_at(world, "P01"), be_at(world, "P02", after=1)
    assert keys(world, "two-places") == [f"two-places/WORKER-1-P01:{first.id}:{second.id}"]


def test_only_entries_in_a_row_are_compared(world: World) -> None:
    entries = [be_at(world, "P01"), be_at(world, "P02", after=MINUTE), be_at(world, "P01", after=2 * MINUTE)]
    first, second, third = (each.id for each in entries)
    assert keys(world, "two-places") == [
        f"two-places/WORKER-1-P01:{first}:{second}",
        f"two-places/WORKER-1-P01:{second}:{third}",
    ]


def test_what_happened_on_the_road_is_passed_over(world: World) -> None:
    first, _, second = be_at(world, "P01"), be_at(world, None, after=MINUTE), be_at(world, "P02", after=2 * MINUTE)
    assert keys(world, "two-places") == [f"two-places/WORKER-1-P01:{first.id}:{second.id}"]


@pytest.mark.parametrize("paper_at", ["P01", "P02"])
def test_what_was_typed_in_from_paper_is_left_out(world: World, paper_at: str) -> None:
    for after, site in enumerate(("P01", "P02")):
        paper = {"paper": "F-17", "transcriber": "WORKER-1-P01"} if site == paper_at else {}
        be_at(world, site, after=after, **paper)
    assert keys(world, "two-places") == []


@pytest.mark.parametrize("unsigned_at", ["P01", "P02"])
def test_somebody_who_did_not_sign_was_not_shown_to_be_there(world: World, unsigned_at: str) -> None:
    for after, site in enumerate(("P01", "P02")):
        be_at(world, site, after=after, **({"signed_by": []} if site == unsigned_at else {}))
    assert keys(world, "two-places") == []


@pytest.mark.parametrize("unnamed_at", ["P01", "P02"])
def test_somebody_who_signed_but_is_not_named_counts_for_nothing(world: World, unnamed_at: str) -> None:
    for after, site in enumerate(("P01", "P02")):
        if site == unnamed_at:
            look(world, CLERKS, site=site, at=world.at + after, signed_by=[*PAIR, "WORKER-1-P01"])
        else:
            be_at(world, site, after=after)
    assert keys(world, "two-places") == []


def test_an_observer_who_signed_was_there_too(world: World) -> None:
    watched: dict[str, Any] = {"observers": ["WATCH-1"], "signed_by": ["WATCH-1"]}
    first, second = be_at(world, "P01", **watched), be_at(world, "P02", after=1, **watched)
    assert keys(world, "two-places") == [f"two-places/WATCH-1:{first.id}:{second.id}"]


def test_everybody_who_was_in_two_places_is_a_finding(world: World) -> None:
    look(world, CLERKS, at=world.at)
    look(world, CLERKS, at=world.at + 1, site="RS")
    assert [each.scope[0] for each in found(world, "two-places")] == ["CLERK-1", "CLERK-2"]


def test_custody_order_decides_which_came_first_and_entries_are_sorted(world: World) -> None:
    late = be_at(world, "P02", after=MINUTE)
    early = be_at(world, "P01", id=late.id[:-1] + "f")  # a greater id, an earlier time
    (finding,) = found(world, "two-places")
    assert (finding.scope, finding.entries) == (("WORKER-1-P01", early.id, late.id), (late.id, early.id))


def test_policy_at_the_later_entry_says_how_long_a_journey_takes(world: World) -> None:
    world.set_policy({"travel": {"minutes_at_least": 30}}, valid_from="2026-11-02T15:20:00Z")
    be_at(world, "P01")
    be_at(world, "P02", after=19 * MINUTE)
    later = be_at(world, "P01", after=48 * MINUTE)
    assert [each.entries[1] for each in found(world, "two-places")] == [later.id]


def test_an_amended_site_is_where_it_was(world: World) -> None:
    first, second = be_at(world, "P01"), be_at(world, "P02", after=1)
    assert keys(world, "two-places") == [f"two-places/WORKER-1-P01:{first.id}:{second.id}"]
    world.wait(60)
    world.amend(second, WORKERS, {"site": "P01"}, site="P01")
    assert keys(world, "two-places") == []


# All together


def test_a_day_as_it_should_be_has_no_finding_of_these(world: World) -> None:
    clean = World(places=2)
    for place in clean.places:
        clean.clean_day(place)
    book = derive_world(clean)
    assert [each.key for listed in book.findings.values() for each in listed] == []
    assert len(book.worked) == len(clean.log)
