"""Who held a thing when it was handled, and what times an entry gives: each rule with its failing and its passing case."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product

import pytest

from custody.domain.findings import Finding, Severity
from custody.domain.states import Moment
from custody.domain.vocabulary import Purpose, Role
from tests.domain.rule_checks import found, keys, one
from tests.world import ELECTION, HOUR, MINUTE, Deed, JsonParty, World, findings_of, party

HOLDERS = party("poll_chief", "CHIEF-P01", "WORKER-1-P01", site="P01")
OTHERS = party("poll_worker", "WORKER-2-P01", site="P01")
ONE_OF_EACH = party("poll_worker", "WORKER-1-P01", "WORKER-2-P01", site="P01")
DESK = party("receiving_clerk", "DESK-1", "DESK-2", site="RS")


def issued() -> World:
    """The kit of P01 is with its chief and the first worker."""
    world = World(places=1)
    world.prepare("P01")
    world.issue_kit("P01")
    return world


# custody-gap


def release(world: World, by: JsonParty) -> tuple[Deed, list[str]]:
    kit = world.kits["P01"]
    return world.handoff([kit.pollbook, kit.tape], by, DESK, "return"), [kit.pollbook, kit.tape]


def pack(world: World, by: JsonParty) -> tuple[Deed, list[str]]:
    kit = world.kits["P01"]
    return world.pack(kit.case, [kit.envelope], by), [kit.case, kit.envelope]


def unpack(world: World, by: JsonParty) -> tuple[Deed, list[str]]:
    kit = world.kits["P01"]
    world.pack(kit.case, [kit.envelope], HOLDERS)
    return world.unpack(kit.case, [kit.envelope], by), [kit.case, kit.envelope]


def seal(world: World, by: JsonParty) -> tuple[Deed, list[str]]:
    kit = world.kits["P01"]
    return world.seal(kit.containers, by), list(kit.containers)


def unseal(world: World, by: JsonParty) -> tuple[Deed, list[str]]:
    kit = world.kits["P01"]
    return world.unseal([kit.stock], by, "open_polls"), [kit.stock]


def dispose(world: World, by: JsonParty) -> tuple[Deed, list[str]]:
    kit = world.kits["P01"]
    return world.dispose([kit.pollbook], by), [kit.pollbook]


HANDLING = [release, pack, unpack, seal, unseal, dispose]


@pytest.mark.parametrize("act", HANDLING)
def test_a_thing_handled_by_nobody_of_its_holders_is_a_gap(
    act: Callable[[World, JsonParty], tuple[Deed, list[str]]],
) -> None:
    world = issued()
    deed, items = act(world, OTHERS)
    assert one(world, "custody-gap") == Finding(
        rule="custody-gap",
        scope=(deed.id,),
        severity=Severity.CRITICAL,
        at=deed.at,
        election=ELECTION,
        site=deed.entry.site,
        origin="P01",
        entries=(deed.id,),
        items=tuple(sorted(items)),
        people=("CHIEF-P01", "WORKER-1-P01", "WORKER-2-P01"),
        message="custody-gap.handoff" if act is release else "custody-gap",
        params={
            "items": sorted(items),
            "people": ["CHIEF-P01", "WORKER-1-P01", "WORKER-2-P01"],
            "doers": ["WORKER-2-P01"],
            "holders": ["CHIEF-P01", "WORKER-1-P01"],
        },
    )


@pytest.mark.parametrize("by", [HOLDERS, ONE_OF_EACH], ids=["all of them", "one of them"])
@pytest.mark.parametrize("act", HANDLING)
def test_a_thing_handled_by_somebody_of_its_holders_is_no_gap(
    act: Callable[[World, JsonParty], tuple[Deed, list[str]]], by: JsonParty
) -> None:
    world = issued()
    act(world, by)
    assert keys(world, "custody-gap") == []


@pytest.mark.parametrize("act", ["inspect", "count", "step", "incident", "register"])
def test_looking_counting_and_reporting_ask_for_no_holder(act: str) -> None:
    world = issued()
    kit = world.kits["P01"]
    match act:
        case "inspect":
            world.inspect([kit.stock], OTHERS)
        case "count":
            world.count(kit.scanner, OTHERS, {"public_counter": 0})
        case "step":
            world.step("keys_tried", OTHERS, kit.keys)
        case "incident":
            world.incident("damaged", OTHERS, kit.case)
        case _:
            world.enter([kit.case], OTHERS)
    assert world.log[-1].entry.kind == act
    assert keys(world, "custody-gap") == []


def test_what_nobody_holds_on_record_may_be_handled_by_anybody() -> None:
    world = issued()
    case = world.add_item("transfer_case")
    world.seal([case], OTHERS)
    assert keys(world, "custody-gap") == []
    world.enter([case], OTHERS)
    again = world.unseal([case], HOLDERS, "replace_seal")
    assert keys(world, "custody-gap") == [f"custody-gap/{again.id}"]


def test_a_handoff_that_nobody_signed_makes_a_holder_all_the_same() -> None:
    world = issued()
    kit = world.kits["P01"]
    world.handoff([kit.pollbook], HOLDERS, OTHERS, "relieve", signed_by=[])
    world.handoff([kit.pollbook], OTHERS, DESK, "return")
    assert keys(world, "custody-gap") == []


def test_only_the_things_that_others_hold_are_named() -> None:
    world = issued()
    kit = world.kits["P01"]
    world.handoff([kit.pollbook], HOLDERS, OTHERS, "relieve")
    world.handoff([kit.pollbook, kit.tape], OTHERS, DESK, "return")
    assert one(world, "custody-gap").items == (kit.tape,)


def test_what_lies_in_a_container_is_held_by_whoever_took_the_outermost_one() -> None:
    world = issued()
    kit = world.kits["P01"]
    world.pack(kit.envelope, [kit.tape], HOLDERS)
    world.pack(kit.case, [kit.envelope], HOLDERS)
    world.handoff([kit.case], HOLDERS, OTHERS, "relieve")
    world.unpack(kit.envelope, [kit.tape], OTHERS)
    assert keys(world, "custody-gap") == []
    before = world.seal([kit.envelope], HOLDERS)
    assert one(world, "custody-gap").entries == (before.id,)


def desk_with(person: str, site: str, election: str = ELECTION) -> World:
    """The kit is in the warehouse with CLERK-1 and CLERK-2; one more clerk is assigned there or elsewhere."""
    world = World(places=1)
    world.prepare("P01")
    if person == "CLERK-9":
        world.change("people", code=person)
        world.change("assignments", election=election, person=person, role="warehouse_clerk", site=site)
    return world


@pytest.mark.parametrize(
    ("person", "site"),
    [("CLERK-3", "WH"), ("CLERK-9", "WH"), ("CLERK-9", "")],
    ids=["of the next shift", "added later", "assigned to no site in particular"],
)
def test_what_a_desk_holds_is_held_by_everybody_assigned_to_it(person: str, site: str) -> None:
    world = desk_with(person, site)
    world.seal([world.kits["P01"].case], party("warehouse_clerk", person, site="WH"))
    assert keys(world, "custody-gap") == []


@pytest.mark.parametrize(("person", "site"), [("DESK-3", "RS"), ("CLERK-9", "P01")], ids=["another desk", "elsewhere"])
def test_what_a_desk_holds_is_not_held_by_people_of_another(person: str, site: str) -> None:
    world = desk_with(person, site)
    deed = world.seal([world.kits["P01"].case], party("warehouse_clerk", person, site="WH"))
    assert keys(world, "custody-gap") == [f"custody-gap/{deed.id}"]


@pytest.mark.parametrize(("judged", "gaps"), [("SPR27", 0), (ELECTION, 1)])
def test_a_desk_is_that_of_the_election_in_which_it_received_or_of_the_entry_judged(judged: str, gaps: int) -> None:
    world = desk_with("CLERK-9", "WH", election="SPR27")
    world.seal([world.kits["P01"].case], party("warehouse_clerk", "CLERK-9", site="WH"), election=judged)
    world.seal([world.kits["P01"].envelope], party("warehouse_clerk", "CLERK-3", site="WH"), election=judged)
    assert [finding.people for finding in found(world, "custody-gap")] == [("CLERK-1", "CLERK-2", "CLERK-9")] * gaps


TECHNICIANS = party("technician", "TECH-1", site="P01")


def in_service(reason: str = "service") -> World:
    """A technician has unsealed the scanner, which the chief holds with the device inside."""
    world = issued()
    world.unseal([world.kits["P01"].scanner], TECHNICIANS, reason)
    return world


def test_a_technician_may_open_change_and_close_what_he_has_in_service() -> None:
    world = in_service()
    kit = world.kits["P01"]
    world.unpack(kit.scanner, [kit.memory], TECHNICIANS)
    world.pack(kit.scanner, [kit.memory], TECHNICIANS)
    world.seal([kit.scanner], TECHNICIANS)
    assert keys(world, "custody-gap") == []


def test_service_covers_what_is_in_the_thing_opened_for_it() -> None:
    world = issued()
    kit = world.kits["P01"]
    world.seal([kit.envelope], HOLDERS)
    world.pack(kit.scanner, [kit.envelope], HOLDERS)
    world.unseal([kit.scanner], TECHNICIANS, "service")
    world.unseal([kit.envelope], TECHNICIANS, "emergency")
    assert keys(world, "custody-gap") == []


def test_a_technician_who_opens_for_another_reason_is_a_gap() -> None:
    world = in_service(reason="emergency")
    kit = world.kits["P01"]
    unpacked = world.unpack(kit.scanner, [kit.memory], TECHNICIANS)
    opened = world.log[-2]
    assert keys(world, "custody-gap") == [f"custody-gap/{opened.id}", f"custody-gap/{unpacked.id}"]


def test_service_by_somebody_who_is_no_technician_is_a_gap() -> None:
    world = issued()
    deed = world.unseal([world.kits["P01"].scanner], OTHERS, "service")
    assert keys(world, "custody-gap") == [f"custody-gap/{deed.id}"]


def test_service_is_over_with_the_seal_after_which_no_point_is_open() -> None:
    world = in_service()
    kit = world.kits["P01"]
    world.seal([(kit.scanner, "bin")], TECHNICIANS)
    world.unpack(kit.scanner, [kit.memory], TECHNICIANS)
    assert keys(world, "custody-gap") == []
    world.seal([(kit.scanner, "memory")], TECHNICIANS)
    late = world.pack(kit.scanner, [kit.memory], TECHNICIANS)
    assert keys(world, "custody-gap") == [f"custody-gap/{late.id}"]


@pytest.mark.parametrize("what", ["another technician", "another thing", "away with it"])
def test_service_excuses_nothing_else(what: str) -> None:
    world = in_service()
    kit = world.kits["P01"]
    if what == "another technician":
        deed = world.unpack(kit.scanner, [kit.memory], party("technician", "TECH-2", site="P01"))
    elif what == "another thing":
        deed = world.unseal([kit.stock], TECHNICIANS, "open_polls")
    else:
        deed = world.handoff([kit.scanner], TECHNICIANS, DESK, "return")
    assert keys(world, "custody-gap") == [f"custody-gap/{deed.id}"]


def test_a_gap_is_withdrawn_when_the_handoff_between_arrives_late() -> None:
    world = issued()
    kit = world.kits["P01"]
    deed = world.handoff([kit.pollbook], OTHERS, DESK, "return")
    assert keys(world, "custody-gap") == [f"custody-gap/{deed.id}"]
    world.handoff([kit.pollbook], HOLDERS, OTHERS, "relieve", at=deed.at - 1, received=deed.received + HOUR)
    assert keys(world, "custody-gap") == []


# broken-pair


def on_the_way() -> World:
    """Everything that is due back is with the two drivers of P01."""
    world = World(places=1)
    world.until("P01", "pack_for_return")
    world.depart("P01")
    return world


DRIVERS = party("courier", "DRIVER-1-P01", "DRIVER-2-P01")
FIRST_DRIVER = party("courier", "DRIVER-1-P01")


def test_one_of_the_pair_who_hands_over_alone_is_flagged() -> None:
    world = on_the_way()
    kit = world.kits["P01"]
    deed = world.handoff([kit.case, kit.stock, kit.pollbook], FIRST_DRIVER, DESK, "return")
    assert one(world, "broken-pair") == Finding(
        rule="broken-pair",
        scope=(deed.id,),
        severity=Severity.WARNING,
        at=deed.at,
        election=ELECTION,
        site="RS",
        origin="P01",
        entries=(deed.id,),
        items=tuple(sorted((kit.case, kit.stock))),
        people=("DRIVER-2-P01",),
        message="broken-pair",
        params={"items": sorted((kit.case, kit.stock)), "people": ["DRIVER-2-P01"]},
    )


def test_a_pair_that_hands_over_together_is_not_flagged() -> None:
    world = on_the_way()
    kit = world.kits["P01"]
    world.handoff([kit.case, kit.stock, kit.pollbook], DRIVERS, DESK, "return")
    assert keys(world, "broken-pair") == []


@pytest.mark.parametrize("whole", [True, False], ids=["the pair", "the one who leaves"])
def test_a_pair_of_which_one_was_relieved_is_not_flagged(whole: bool) -> None:
    world = on_the_way()
    kit = world.kits["P01"]
    world.add_person("DRIVER-9", "courier")
    now = party("courier", "DRIVER-1-P01", "DRIVER-9")
    leaving = party("courier", "DRIVER-2-P01")
    world.handoff([kit.case, kit.stock], DRIVERS if whole else leaving, now, "relieve")
    world.handoff([kit.case, kit.stock], now, DESK, "return")
    assert keys(world, "broken-pair", "custody-gap") == []


def test_a_thing_that_takes_one_person_may_be_handed_over_by_one() -> None:
    world = on_the_way()
    world.handoff([world.kits["P01"].pollbook], FIRST_DRIVER, DESK, "return")
    assert keys(world, "broken-pair") == []


@pytest.mark.parametrize("inside", ["tape", "pollbook"])
def test_a_container_counts_when_it_holds_something_controlled(inside: str) -> None:
    world = issued()
    kit = world.kits["P01"]
    box = world.add_item("supply_kit")
    world.enter([box], HOLDERS)
    world.pack(box, [getattr(kit, inside)], HOLDERS)
    deed = world.handoff([box], party("poll_chief", "CHIEF-P01", site="P01"), DESK, "return")
    assert keys(world, "broken-pair") == ([f"broken-pair/{deed.id}"] if inside == "tape" else [])


def test_nobody_of_the_holders_is_a_gap_and_no_broken_pair() -> None:
    world = on_the_way()
    deed = world.handoff([world.kits["P01"].stock], OTHERS, DESK, "return")
    assert keys(world, "broken-pair", "custody-gap") == [f"custody-gap/{deed.id}"]


def test_a_desk_may_change_shifts() -> None:
    world = on_the_way()
    world.arrive("P01")
    items = [world.kits["P01"].stock]
    world.handoff(items, party("receiving_clerk", "DESK-1", "DESK-3", site="RS"), DRIVERS, "transfer")
    assert keys(world, "broken-pair") == []


# wrong-purpose

_WH, _RS, _VA, _CO = "warehouse_clerk", "receiving_clerk", "vault_custodian", "courier"
_PC, _PW, _TE, _AU = "poll_chief", "poll_worker", "technician", "auditor"
ROUTES = {  # common practice, no published source
    "issue": ({_WH}, {_PC, _CO, _TE}),
    "deliver": ({_CO, _TE}, {_PC, _PW, _CO}),
    "return": ({_PC, _PW, _CO, _TE}, {_CO, _RS, _WH, _VA}),
    "transfer": ({_RS, _WH, _VA, _CO}, {_RS, _WH, _VA, _CO}),
    "store": ({_RS, _WH, _AU}, {_VA}),
    "retrieve": ({_VA}, {_RS, _WH, _AU}),
}


def fits(purpose: str, giver: str, taker: str) -> bool:
    if purpose == "relieve":
        return giver == taker or {giver, taker} == {_PC, _PW}
    if purpose == "audit":
        return _AU in (giver, taker)
    givers, takers = ROUTES[purpose]
    return giver in givers and taker in takers


@pytest.mark.parametrize("purpose", [each.value for each in Purpose])
def test_a_purpose_joins_the_roles_of_its_routes_and_no_others(purpose: str) -> None:
    world = World(places=1)
    unfit = []
    for giver, taker in product([role.value for role in Role], repeat=2):
        deed = world.handoff(
            [], party(giver, "A"), party(taker, "B"), purpose, loose=["S0001001"], signed_by=["CLERK-1"]
        )
        if not fits(purpose, giver, taker):
            unfit.append(f"wrong-purpose/{deed.id}")
    assert [each.key for each in findings_of(world) if each.rule == "wrong-purpose"] == unfit
    assert 0 < len(unfit) < 100


def test_a_wrong_purpose_says_what_does_not_fit() -> None:
    world = issued()
    deed = world.handoff([world.kits["P01"].tape], HOLDERS, DRIVERS, "store")
    assert one(world, "wrong-purpose") == Finding(
        rule="wrong-purpose",
        scope=(deed.id,),
        severity=Severity.NOTICE,
        at=deed.at,
        election=ELECTION,
        site="P01",
        origin="P01",
        entries=(deed.id,),
        message="wrong-purpose",
        params={"purpose": "store", "giver": "poll_chief", "taker": "courier"},
    )


@pytest.mark.parametrize(("release", "origin"), [(HOLDERS, "P01"), (DESK, None)], ids=["a polling place", "a desk"])
def test_what_no_place_owes_comes_from_the_place_that_gives_it_away(release: JsonParty, origin: str | None) -> None:
    world = World(places=1)
    world.handoff([world.spare.tape], release, DRIVERS, "store", site=None)
    assert one(world, "wrong-purpose").origin == origin


def test_routes_are_those_of_the_policy_in_force() -> None:
    world = issued()
    world.set_policy({"routes": {"store": {"from": ["poll_chief"], "to": ["courier"]}}})
    world.handoff([world.kits["P01"].tape], HOLDERS, DRIVERS, "store")
    assert keys(world, "wrong-purpose") == []


# late-entry, clock-ahead


@pytest.mark.parametrize(("after", "late"), [(24 * HOUR, False), (24 * HOUR + 1, True)])
def test_an_entry_that_arrives_more_than_a_day_later_is_late(after: int, late: bool) -> None:
    world = issued()
    deed = world.inspect([world.kits["P01"].stock], HOLDERS, received=world.at + after)
    assert keys(world, "late-entry") == ([f"late-entry/{deed.id}"] if late else [])
    if late:
        finding = one(world, "late-entry")
        assert (finding.at, finding.severity, finding.params) == (deed.at, Severity.NOTICE, {"hours": 24})


def test_a_paper_form_may_be_transcribed_days_later() -> None:
    world = issued()
    deed = world.inspect(
        [world.kits["P01"].stock], HOLDERS, received=world.at + 72 * HOUR, paper="F-7", transcriber="CHIEF-P01"
    )
    assert keys(world, "late-entry") == []
    world.amend(deed, HOLDERS, {"paper": "", "transcriber": ""}, received=deed.received + 1)
    assert f"late-entry/{deed.id}" in keys(world, "late-entry")


def test_lateness_counts_from_the_time_as_amended() -> None:
    world = issued()
    deed = world.inspect([world.kits["P01"].stock], HOLDERS, received=world.at + 23 * HOUR)
    assert keys(world, "late-entry") == []
    world.amend(deed, HOLDERS, {"at": "2026-11-02T06:00:00Z"})
    assert keys(world, "late-entry") == [f"late-entry/{deed.id}"]


def test_the_limit_of_lateness_is_policy() -> None:
    world = issued()
    world.set_policy({"late_entry": {"hours": 1}})
    deed = world.inspect([world.kits["P01"].stock], HOLDERS, received=world.at + HOUR + 1)
    assert one(world, "late-entry").entries == (deed.id,)


@pytest.mark.parametrize(("ahead", "flagged"), [(5 * MINUTE, False), (5 * MINUTE + 1, True)])
def test_an_entry_whose_time_lies_after_its_receipt_is_flagged(ahead: int, flagged: bool) -> None:
    world = issued()
    deed = world.inspect([world.kits["P01"].stock], HOLDERS, received=world.at - ahead)
    assert keys(world, "clock-ahead") == ([f"clock-ahead/{deed.id}"] if flagged else [])
    if flagged:
        finding = one(world, "clock-ahead")
        assert (finding.at, finding.severity, finding.params) == (deed.received, Severity.WARNING, {"minutes": 5})


def test_a_clock_that_was_ahead_is_put_right_by_amending_the_time() -> None:
    world = issued()
    deed = world.inspect([world.kits["P01"].stock], HOLDERS, at=world.time("09:00"), received=world.time("08:00"))
    assert keys(world, "clock-ahead") == [f"clock-ahead/{deed.id}"]
    world.amend(deed, HOLDERS, {"at": "2026-11-03T14:00:00Z"}, at=world.time("10:00"))
    assert keys(world, "clock-ahead") == []


# lost


def reported(world: World) -> Deed:
    return world.incident("lost", HOLDERS, world.kits["P01"].case)


def test_a_thing_reported_lost_stands_as_lost() -> None:
    world = issued()
    case = world.kits["P01"].case
    deed = reported(world)
    assert one(world, "lost") == Finding(
        rule="lost",
        scope=(case,),
        severity=Severity.CRITICAL,
        at=deed.at,
        election=ELECTION,
        site="P01",
        entries=(deed.id,),
        items=(case,),
        message="lost",
        params={"items": [case]},
        began=Moment(deed.at, deed.id),
    )


@pytest.mark.parametrize("category", ["damaged", "power_loss", "unit_failure", "other"])
def test_other_incidents_lose_nothing(category: str) -> None:
    world = issued()
    world.incident(category, HOLDERS, world.kits["P01"].case)
    assert keys(world, "lost") == []


@pytest.mark.parametrize("how", ["found", "handed over"])
def test_what_was_lost_is_back_when_it_is_found_or_handed_over(how: str) -> None:
    world = issued()
    case = world.kits["P01"].case
    reported(world)
    back = (
        world.incident("found", OTHERS, case) if how == "found" else world.handoff([case], HOLDERS, DRIVERS, "return")
    )
    assert one(world, "lost").cleared == Moment(back.at, back.id)


def test_what_was_lost_stays_lost_when_only_what_it_lay_in_is_handed_over() -> None:
    world = issued()
    kit = world.kits["P01"]
    world.pack(kit.case, [kit.envelope], HOLDERS)
    world.incident("lost", HOLDERS, kit.envelope)
    world.handoff([kit.case], HOLDERS, DRIVERS, "return")
    assert one(world, "lost").cleared is None


def test_a_second_report_tells_nothing_new_until_the_thing_turned_up_in_between() -> None:
    world = issued()
    first = reported(world)
    reported(world)
    assert one(world, "lost").began == Moment(first.at, first.id)
    world.incident("found", OTHERS, world.kits["P01"].case)
    again = reported(world)
    finding = one(world, "lost")
    assert (finding.began, finding.at, finding.entries) == (Moment(again.at, again.id), again.at, (again.id,))
    assert finding.cleared is None
