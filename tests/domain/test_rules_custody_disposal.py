"""The end of a thing's life: too early, unlooked at, handled again; each rule with its failing and its passing case."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from custody.domain.findings import Finding, Severity
from custody.domain.instants import local_instant
from tests.domain.rule_checks import found, keys, one
from tests.world import ELECTION, HOUR, TIMEZONE, Deed, Kit, World, party

VAULT = party("vault_custodian", "VAULT-1", "VAULT-2", site="VA")
OFFICE = party("official", "OFFICE-1")
UNTIL = local_instant("2028-09-03T00:00", TIMEZONE)  # 22 calendar months after 3 November 2026 (52 U.S.C. 20701)


def stored(election: str = ELECTION) -> tuple[World, Kit]:
    """The spares lie in the vault, named in one election; whole and sealed."""
    world = World(places=1)
    kit = world.spare
    world.enter(kit.all, VAULT, election=election)
    world.seal([kit.stock], VAULT, election=election)
    return world, kit


def add_election(world: World, code: str, date: str, timezone: str = TIMEZONE) -> None:
    world.change(
        "elections",
        code=code,
        name=code,
        date=date,
        timezone=timezone,
        polls_open=f"{date}T07:00",
        polls_close=f"{date}T20:00",
        return_deadline=f"{date}T23:59",
    )


# disposed-early


@pytest.mark.parametrize("method", ["destroyed", "released"])
def test_a_controlled_thing_that_goes_before_its_day_is_early(method: str) -> None:
    world, kit = stored()
    deed = world.dispose([kit.stock, kit.pollbook], VAULT, method, at=UNTIL - 1)
    assert one(world, "disposed-early") == Finding(
        rule="disposed-early",
        scope=(deed.id,),
        severity=Severity.CRITICAL,
        at=deed.at,
        election=ELECTION,
        site="VA",
        entries=(deed.id,),
        items=(kit.stock,),
        message="disposed-early",
        params={"items": [kit.stock], "early": [kit.stock], "until": "2028-09-03"},
    )


@pytest.mark.parametrize("method", ["destroyed", "released"])
def test_a_controlled_thing_may_go_on_the_day_itself(method: str) -> None:
    world, kit = stored()
    world.dispose([kit.stock], VAULT, method, at=UNTIL)
    assert keys(world, "disposed-early") == []


@pytest.mark.parametrize(
    ("date", "until"),
    [
        ("2020-11-03", "2022-09-03"),
        ("2022-11-08", "2024-09-08"),
        ("2024-11-05", "2026-09-05"),
        ("2024-04-30", "2026-02-28"),
    ],
)
def test_retention_is_22_calendar_months(date: str, until: str) -> None:
    """52 U.S.C. 20701: 22 months from the day of the election; a month that is too short ends on its last day."""
    world = World(places=1)
    add_election(world, "OLD", date)
    stock = world.spare.stock
    world.enter([stock], VAULT, election="OLD", at=local_instant(f"{date}T06:00", TIMEZONE))
    day = local_instant(f"{until}T00:00", TIMEZONE)
    early = world.dispose([stock], VAULT, "released", election="OLD", at=day - 1)
    world.dispose([stock], VAULT, "released", election="OLD", at=day)
    assert [(each.entries, each.params["until"]) for each in found(world, "disposed-early")] == [((early.id,), until)]


@pytest.mark.parametrize("kind", ["scanner", "pollbook", "keys"])
def test_what_is_neither_controlled_nor_an_envelope_may_go_at_any_time(kind: str) -> None:
    world, kit = stored()
    world.dispose([getattr(kit, kind)], VAULT, at=UNTIL - 1)
    assert keys(world, "disposed-early") == []


def test_an_empty_envelope_is_kept_as_long_as_a_full_one() -> None:
    world, kit = stored()
    deed = world.dispose([kit.envelope], VAULT, at=UNTIL - 1)
    assert keys(world, "disposed-early") == [f"disposed-early/{deed.id}"]


@pytest.mark.parametrize("inside", ["tape", "pollbook"])
@pytest.mark.parametrize("named", [True, False], ids=["named", "not named"])
def test_what_is_inside_goes_with_its_container(inside: str, named: bool) -> None:
    world, kit = stored()
    box, thing = world.add_item("supply_kit"), getattr(kit, inside)
    world.enter([box], VAULT)
    world.pack(box, [thing], VAULT)
    world.dispose([box, thing] if named else [box], VAULT, at=UNTIL - 1)
    assert [each.items for each in found(world, "disposed-early")] == [(thing,)] * (inside == "tape")


def test_an_envelope_in_a_box_in_a_box_goes_with_them() -> None:
    world, kit = stored()
    outer, inner = world.add_item("supply_kit"), world.add_item("supply_kit")
    world.enter([outer, inner], VAULT)
    world.pack(inner, [kit.envelope], VAULT)
    world.pack(outer, [inner], VAULT)
    world.dispose([outer], VAULT, at=UNTIL - 1)
    assert one(world, "disposed-early").items == (kit.envelope,)


def test_the_latest_of_the_elections_that_a_thing_was_named_in_counts() -> None:
    world, kit = stored()
    add_election(world, "SPR27", "2027-03-02")
    world.inspect([kit.stock], VAULT, election="SPR27")
    world.dispose([kit.stock, kit.tape], VAULT, at=local_instant("2029-01-01T12:00", TIMEZONE))
    finding = one(world, "disposed-early")
    assert (finding.items, finding.params["until"]) == ((kit.stock,), "2029-01-02")


def test_of_two_retention_dates_that_have_not_come_the_later_is_named() -> None:
    world, kit = stored()
    add_election(world, "SPR27", "2027-03-02")
    world.inspect([kit.stock], VAULT, election="SPR27")
    world.dispose([kit.stock], VAULT, at=UNTIL - 1)
    assert one(world, "disposed-early").params["until"] == "2029-01-02"


def test_the_election_of_the_disposal_itself_keeps_nothing_longer() -> None:
    world, kit = stored()
    add_election(world, "SPR27", "2027-03-02")
    world.dispose([kit.stock], VAULT, at=UNTIL, election="SPR27")
    assert keys(world, "disposed-early") == []


def test_of_a_thing_that_no_entry_named_before_the_election_of_the_disposal_counts() -> None:
    world, _ = stored()
    case = world.add_item("transfer_case")
    deed = world.dispose([case], VAULT, at=UNTIL - 1)
    assert keys(world, "disposed-early") == [f"disposed-early/{deed.id}"]


def test_an_election_that_the_register_does_not_know_keeps_nothing() -> None:
    world, kit = stored(election="NEVER")
    world.dispose([kit.stock], VAULT, at=UNTIL - 1, election="NEVER")
    assert keys(world, "disposed-early") == []


@pytest.mark.parametrize(("timezone", "early"), [("Pacific/Auckland", 0), ("Pacific/Honolulu", 1)])
def test_the_day_is_that_of_the_election_s_own_time_zone(timezone: str, early: int) -> None:
    world = World(places=1)
    add_election(world, "FAR", "2026-11-03", timezone)
    world.enter([world.spare.stock], VAULT, election="FAR")
    deed = world.dispose([world.spare.stock], VAULT, election="FAR", at=local_instant("2028-09-02T22:00", TIMEZONE))
    assert keys(world, "disposed-early") == [f"disposed-early/{deed.id}"] * early


def test_the_months_of_retention_are_policy() -> None:
    world, kit = stored()
    world.set_policy({"retention": {"months": 24}})
    world.dispose([kit.stock], VAULT, at=UNTIL)
    assert one(world, "disposed-early").params["until"] == "2028-11-03"


def disposed_under(hold: Callable[[World, Kit], Any], *things: str) -> list[Finding]:
    """Things (else: the stock) are disposed of when their day has come, after a hold was placed."""
    world, kit = stored()
    hold(world, kit)
    items = [getattr(kit, each) for each in things or ("stock",)]
    world.dispose(items, VAULT, at=UNTIL)
    return found(world, "disposed-early")


def test_a_hold_on_the_whole_election_stops_disposal() -> None:
    world, kit = stored()
    hold = world.hold(OFFICE, at=world.time("12:00", day=30))
    deed = world.dispose([kit.stock, kit.pollbook], VAULT, at=UNTIL)
    finding = one(world, "disposed-early")
    assert (finding.scope, finding.items, finding.message) == ((deed.id,), (kit.stock,), "disposed-early.hold")
    assert finding.params == {"items": [kit.stock], "held": [kit.stock], "holds": [hold.id]}


def test_a_disposal_that_is_early_and_under_hold_is_one_finding() -> None:
    world, kit = stored()
    hold = world.hold(OFFICE, kit.tape)
    world.dispose([kit.stock, kit.tape], VAULT, at=UNTIL - 1)
    finding = one(world, "disposed-early")
    assert (finding.items, finding.message) == (tuple(sorted((kit.stock, kit.tape))), "disposed-early.both")
    assert (finding.params["held"], finding.params["holds"]) == ([kit.tape], [hold.id])
    assert (finding.params["early"], finding.params["until"]) == (sorted((kit.stock, kit.tape)), "2028-09-03")


def test_a_hold_that_was_lifted_stops_nothing() -> None:
    assert disposed_under(lambda world, kit: world.hold(OFFICE, lifts=world.hold(OFFICE))) == []


def test_a_hold_of_which_a_part_was_lifted_goes_on_for_the_rest() -> None:
    def lifted_in_part(world: World, kit: Kit) -> None:
        world.hold(OFFICE, kit.tape, lifts=world.hold(OFFICE, kit.tape, kit.stock))

    (finding,) = disposed_under(lifted_in_part, "tape", "stock")
    assert [each[:2] for each in finding.items] == ["BS"]


def test_a_whole_hold_of_which_a_thing_was_lifted_goes_on_for_the_rest() -> None:
    def lifted_in_part(world: World, kit: Kit) -> None:
        world.hold(OFFICE, kit.tape, lifts=world.hold(OFFICE))

    (finding,) = disposed_under(lifted_in_part, "tape", "stock")
    assert [each[:2] for each in finding.items] == ["BS"]


@pytest.mark.parametrize("named", ["pollbook", "keys"])
def test_a_hold_that_names_a_thing_protects_it_whatever_its_kind(named: str) -> None:
    (finding,) = disposed_under(lambda world, kit: world.hold(OFFICE, getattr(kit, named)), "pollbook", "keys", "stock")
    assert [each[:2] for each in finding.items] == [{"pollbook": "PB", "keys": "KS"}[named]]


def test_a_hold_on_a_container_protects_what_is_in_it() -> None:
    def packed(world: World, kit: Kit) -> None:
        world.pack(kit.case, [kit.tape], VAULT)
        world.hold(OFFICE, kit.case)

    (finding,) = disposed_under(packed, "tape")
    assert [each[:2] for each in finding.items] == ["RT"]


def test_a_hold_on_a_container_that_is_lifted_protects_what_is_in_it_no_longer() -> None:
    def hold(world: World, kit: Kit) -> None:
        world.pack(kit.case, [kit.envelope], VAULT)
        world.hold(OFFICE, kit.case, lifts=world.hold(OFFICE, kit.case, kit.tape))

    assert disposed_under(hold, "case", "envelope") == []
    (finding,) = disposed_under(hold, "tape")
    assert finding.params["held"] == [stored()[1].tape]


def test_a_hold_on_what_is_inside_protects_the_container_s_contents() -> None:
    def packed(world: World, kit: Kit) -> None:
        world.pack(kit.scanner, [kit.keys], VAULT)
        world.hold(OFFICE, kit.keys)

    (finding,) = disposed_under(packed, "scanner")
    assert [each[:2] for each in finding.items] == ["KS"]


def test_a_hold_on_another_election_or_on_another_thing_stops_nothing() -> None:
    def other(world: World, kit: Kit) -> None:
        add_election(world, "SPR27", "2027-03-02")
        world.hold(OFFICE, election="SPR27")
        world.hold(OFFICE, kit.tape)

    assert disposed_under(other) == []


def test_a_hold_that_is_placed_afterwards_stops_nothing() -> None:
    assert disposed_under(lambda world, kit: world.hold(OFFICE, at=UNTIL + 1)) == []


# disposed-unchecked


def emptied() -> tuple[World, str]:
    """A ballot container that was used, and then shown empty by two."""
    world, kit = stored()
    box = kit.containers[0]
    world.pack(box, [kit.tape], VAULT)
    world.seal([box], VAULT)
    world.unseal([box], VAULT, "recount")
    world.unpack(box, [kit.tape], VAULT)
    world.step("shown_empty", VAULT, box)
    return world, box


@pytest.mark.parametrize("method", ["destroyed", "released"])
def test_a_container_that_was_never_shown_empty_is_unchecked(method: str) -> None:
    world, kit = stored()
    deed = world.dispose(kit.containers, VAULT, method, at=UNTIL)
    finding = one(world, "disposed-unchecked")
    assert finding.scope == finding.entries == (deed.id,)
    assert (finding.severity, finding.at, finding.site) == (Severity.WARNING, UNTIL, "VA")
    assert finding.items == tuple(sorted(kit.containers))


@pytest.mark.parametrize("method", ["destroyed", "released"])
def test_a_container_that_was_shown_empty_since_it_was_used_may_go(method: str) -> None:
    world, box = emptied()
    world.dispose([box], VAULT, method, at=UNTIL)
    assert keys(world, "disposed-unchecked") == []


def use_again(world: World, box: str, how: str) -> None:
    match how:
        case "sealed":
            world.seal([box], VAULT)
        case "unsealed":
            world.unseal([{"item": box, "point": "front", "state": "missing"}], VAULT, "recount")
        case "packed":
            world.pack(box, [world.spare.keys], VAULT)
        case "counted":
            world.count(box, VAULT, {"ballots_in_container": 0})
        case "inspected":
            world.inspect([{"item": box, "point": "front", "state": "missing"}], VAULT)
        case "handed over":
            world.handoff([box], VAULT, VAULT, "transfer")
        case _:
            world.incident("damaged", VAULT, box)


@pytest.mark.parametrize("how", ["sealed", "unsealed", "packed", "counted"])
def test_a_container_in_use_since_it_was_shown_empty_is_unchecked(how: str) -> None:
    world, box = emptied()
    use_again(world, box, how)
    deed = world.dispose([box], VAULT, at=UNTIL)
    assert keys(world, "disposed-unchecked") == [f"disposed-unchecked/{deed.id}"]


@pytest.mark.parametrize("how", ["inspected", "handed over", "reported damaged"])
def test_a_container_only_looked_at_or_moved_since_then_may_go(how: str) -> None:
    world, box = emptied()
    use_again(world, box, how)
    world.dispose([box], VAULT, at=UNTIL)
    assert keys(world, "disposed-unchecked") == []


def test_only_ballot_containers_have_to_be_shown_empty() -> None:
    world, kit = stored()
    world.dispose([kit.case, kit.envelope, kit.scanner, kit.stock], VAULT, at=UNTIL)
    assert keys(world, "disposed-unchecked") == []


# after-disposal


def handle(world: World, kit: Kit, how: str) -> tuple[Deed, list[str]]:
    """An act upon the case or the tape, and those of the two that it moves, opens or seals."""
    at = UNTIL + HOUR
    match how:
        case "handed over":
            return world.handoff([kit.case, kit.tape], VAULT, VAULT, "transfer", at=at), [kit.case, kit.tape]
        case "packed":
            return world.pack(kit.envelope, [kit.tape], VAULT, at=at), [kit.tape]
        case "packed into":
            return world.pack(kit.case, [kit.pollbook], VAULT, at=at), [kit.case]
        case "unpacked":
            return world.unpack(kit.case, [kit.tape], VAULT, at=at), [kit.case, kit.tape]
        case "sealed":
            return world.seal([kit.case], VAULT, at=at), [kit.case]
        case "unsealed":
            missing = {"item": kit.case, "point": "latch", "state": "missing"}
            return world.unseal([missing], VAULT, "audit", at=at), [kit.case]
        case "inspected":
            missing = {"item": kit.case, "point": "latch", "state": "missing"}
            return world.inspect([missing], VAULT, at=at), []
        case "counted":
            return world.count(kit.case, VAULT, {"ballots_cast": 0}, at=at), []
        case _:
            return world.incident("found", VAULT, kit.case, at=at), []


@pytest.mark.parametrize("how", ["handed over", "packed", "packed into", "unpacked", "sealed", "unsealed"])
def test_a_destroyed_thing_that_is_handled_again_is_flagged(how: str) -> None:
    world, kit = stored()
    world.dispose([kit.case, kit.tape], VAULT, at=UNTIL)
    deed, items = handle(world, kit, how)
    finding = one(world, "after-disposal")
    assert finding.scope == finding.entries == (deed.id,)
    assert (finding.severity, finding.at, finding.items) == (Severity.CRITICAL, deed.at, tuple(sorted(items)))


@pytest.mark.parametrize("how", ["handed over", "packed", "packed into", "unpacked", "sealed", "unsealed"])
def test_a_released_thing_may_be_used_again(how: str) -> None:
    world, kit = stored()
    world.dispose([kit.case, kit.tape], VAULT, "released", at=UNTIL)
    handle(world, kit, how)
    assert keys(world, "after-disposal") == []


@pytest.mark.parametrize("how", ["inspected", "counted", "found"])
def test_reading_and_reporting_a_destroyed_thing_is_not_flagged(how: str) -> None:
    world, kit = stored()
    world.dispose([kit.case, kit.tape], VAULT, at=UNTIL)
    handle(world, kit, how)
    assert keys(world, "after-disposal") == []


def test_a_thing_may_be_handled_until_it_is_destroyed() -> None:
    world, kit = stored()
    world.dispose([kit.case], VAULT, at=UNTIL + 2 * HOUR)
    handle(world, kit, "sealed")
    assert keys(world, "after-disposal") == []


def test_a_container_that_is_handed_over_moves_the_destroyed_thing_in_it() -> None:
    world, kit = stored()
    world.dispose([kit.tape], VAULT, at=UNTIL)
    packed = world.pack(kit.case, [kit.tape], VAULT, at=UNTIL + 1)
    moved = world.handoff([kit.case], VAULT, VAULT, "transfer", at=UNTIL + 2)
    assert keys(world, "after-disposal") == [f"after-disposal/{each.id}" for each in (packed, moved)]
