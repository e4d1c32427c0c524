"""Ways back: too slow, not whole, keys beside their locks; each rule with its failing and its passing case.

The limits of 15 and 60 minutes and the separation of keys are common practice, no published source.
"""

from __future__ import annotations

from typing import Any

import pytest

from custody.domain.findings import Finding, Severity
from custody.domain.states import Moment
from tests.domain.rule_checks import found, keys, one
from tests.world import ELECTION, MINUTE, Deed, JsonParty, World, party, reading

DRIVERS = party("courier", "DRIVER-1-P01", "DRIVER-2-P01")
OTHER_DRIVERS = party("courier", "DRIVER-1-P02", "DRIVER-2-P02")
DESK = party("receiving_clerk", "DESK-1", "DESK-2", site="RS")
CHIEF = party("poll_chief", "CHIEF-P01", "WORKER-1-P01", site="P01")
PAIR = ("DRIVER-1-P01", "DRIVER-2-P01")


def closed() -> World:
    """The polls of P01 are closed and everything is packed."""
    world = World(places=2)
    world.until("P01", "pack_for_return")
    return world


def departed() -> tuple[World, Deed]:
    """What is due back is with the drivers since 21:00."""
    world = closed()
    return world, world.depart("P01")


def deliver(world: World, at: int, items: list[str], **more: Any) -> Deed:
    return world.handoff(items, more.pop("release", DRIVERS), more.pop("receive", DESK), "return", at=at, **more)


# slow-transit


def test_what_is_not_received_within_the_limit_is_slow() -> None:
    world, away = departed()
    kit = world.kits["P01"]
    returned = (*world.returned("P01"), kit.envelope, kit.memory, kit.tape)
    limit = away.at + 90 * MINUTE
    assert one(world, "slow-transit") == Finding(
        rule="slow-transit",
        scope=(away.id,),
        severity=Severity.WARNING,
        at=limit,
        election=ELECTION,
        site="P01",
        origin="P01",
        entries=(away.id,),
        items=tuple(sorted(returned)),
        people=PAIR,
        message="slow-transit",
        params={"items": sorted(returned), "people": list(PAIR), "place": "P01", "minutes": 90},
        at_limit=True,
    )
    assert keys(world, "slow-transit", now=limit) == []


@pytest.mark.parametrize(("late", "slow"), [(0, False), (1, True)], ids=["at the limit", "a second later"])
def test_an_arrival_after_the_limit_leaves_the_finding_open(late: int, slow: bool) -> None:
    world, away = departed()
    limit = away.at + 90 * MINUTE
    deliver(world, limit + late, world.returned("P01"))
    assert [(each.at, each.cleared) for each in found(world, "slow-transit")] == [(limit, None)] * slow


def test_only_the_things_that_are_late_are_named() -> None:
    world, away = departed()
    kit = world.kits["P01"]
    deliver(world, away.at + 20 * MINUTE, [each for each in world.returned("P01") if each != kit.stock])
    deliver(world, away.at + 100 * MINUTE, [kit.stock])
    assert one(world, "slow-transit").items == (kit.stock,)


@pytest.mark.parametrize(
    ("receive", "more", "slow"),
    [
        (DESK, {"signed_by": PAIR}, True),
        (DESK, {"signed_by": [*PAIR, "DESK-2"]}, False),
        (DESK, {"signed_by": ["DESK-3"], "paper": "F-1", "transcriber": "DESK-3", "photos": ["ab" * 32]}, False),
        (DESK, {"signed_by": ["DESK-3"], "paper": "F-1", "transcriber": "DESK-3"}, True),
        (DESK, {"signed_by": PAIR, "paper": "F-1", "transcriber": PAIR[0], "photos": ["ab" * 32]}, True),
        (party("vault_custodian", "VAULT-1", "VAULT-2", site="VA"), {}, False),
        (party("warehouse_clerk", "CLERK-1", "CLERK-2", site="WH"), {}, False),
        (party("poll_chief", "CHIEF-P02", site="P02"), {}, False),
        (OTHER_DRIVERS, {}, True),
        (party("technician", "TECH-1"), {}, True),
    ],
    ids=[
        "nobody signed for it",
        "one signed for it",
        "on paper with a photo",
        "on paper without a photo",
        "on paper, transcribed by the driver",
        "the vault",
        "the warehouse",
        "a polling place",
        "other drivers",
        "a technician",
    ],
)
def test_a_way_back_ends_where_somebody_received(receive: JsonParty, more: dict[str, object], slow: bool) -> None:
    world, away = departed()
    deliver(world, away.at + 30 * MINUTE, world.returned("P01"), receive=receive, **more)
    assert keys(world, "slow-transit") == [f"slow-transit/{away.id}"] * slow


def test_a_second_pair_of_drivers_does_not_start_the_time_anew() -> None:
    world, away = departed()
    items = world.returned("P01")
    world.handoff(items, DRIVERS, OTHER_DRIVERS, "return", at=away.at + 30 * MINUTE)
    deliver(world, away.at + 91 * MINUTE, items, release=OTHER_DRIVERS)
    finding = one(world, "slow-transit")
    assert finding.scope == (away.id,)
    assert finding.people == ("DRIVER-1-P01", "DRIVER-1-P02", "DRIVER-2-P01", "DRIVER-2-P02")


def test_things_that_leave_by_two_entries_are_on_two_ways() -> None:
    world = closed()
    kit = world.kits["P01"]
    first = world.handoff([kit.case], CHIEF, DRIVERS, "return", at=world.time("21:00"))
    world.handoff([kit.stock], CHIEF, DRIVERS, "return", at=world.time("21:40"))
    deliver(world, world.time("22:40"), [kit.case, kit.stock])
    assert keys(world, "slow-transit") == [f"slow-transit/{first.id}"]


def test_a_thing_that_leaves_twice_is_slow_on_the_way_that_took_too_long() -> None:
    world = closed()
    stock = world.kits["P01"].stock
    world.handoff([stock], CHIEF, DRIVERS, "return", at=world.time("21:00"))
    world.handoff([stock], DRIVERS, CHIEF, "return", at=world.time("21:10"))
    second = world.handoff([stock], CHIEF, DRIVERS, "return", at=world.time("21:20"))
    deliver(world, world.time("23:30"), [stock])
    assert keys(world, "slow-transit") == [f"slow-transit/{second.id}"]


def test_what_comes_to_a_polling_place_is_on_no_way_back() -> None:
    world = World(places=1)
    world.prepare("P01")
    world.handoff(world.outer(world.kits["P01"]), world.party("warehouse_clerk"), DRIVERS, "issue", site="WH")
    assert keys(world, "slow-transit", "short-delivery") == []


def test_the_limit_of_a_way_back_is_policy() -> None:
    world, away = departed()
    world.set_policy({"transit": {"minutes_at_most": 20}})
    deliver(world, away.at + 21 * MINUTE, world.returned("P01"))
    assert one(world, "slow-transit").at == away.at + 20 * MINUTE


# short-delivery


def all_but(world: World, *kept: str) -> list[str]:
    return [each for each in world.returned("P01") if each not in kept]


def test_a_controlled_thing_held_back_for_a_quarter_of_an_hour_is_flagged() -> None:
    world, away = departed()
    box = world.kits["P01"].containers[0]
    arrival = deliver(world, away.at + 25 * MINUTE, all_but(world, box))
    limit = arrival.at + 15 * MINUTE
    assert one(world, "short-delivery") == Finding(
        rule="short-delivery",
        scope=(away.id,),
        severity=Severity.CRITICAL,
        at=limit,
        election=ELECTION,
        site="P01",
        origin="P01",
        entries=(away.id,),
        items=(box,),
        people=PAIR,
        message="short-delivery",
        params={"items": [box], "people": list(PAIR), "place": "P01"},
        at_limit=True,
    )
    assert keys(world, "short-delivery", now=limit - 1) == []


@pytest.mark.parametrize(("what", "minutes"), [("container", 15), ("pollbook", 60)])
@pytest.mark.parametrize(("late", "short"), [(0, False), (1, True)], ids=["at the limit", "a second later"])
def test_a_thing_that_comes_in_after_the_limit_clears_the_finding(
    what: str, minutes: int, late: int, short: bool
) -> None:
    world, away = departed()
    kit = world.kits["P01"]
    kept = kit.containers[0] if what == "container" else kit.pollbook
    first = deliver(world, away.at + 10 * MINUTE, all_but(world, kept))
    limit = first.at + minutes * MINUTE
    second = deliver(world, limit + late, [kept])
    expected = [(limit, (kept,), Moment(second.at, second.id))] * short
    assert [(each.at, each.items, each.cleared) for each in found(world, "short-delivery")] == expected


def test_a_thing_that_need_not_be_back_may_stay_in_the_car() -> None:
    world = closed()
    kit = world.kits["P01"]
    world.handoff([kit.stock, kit.scanner], CHIEF, DRIVERS, "return", at=world.time("21:00"))
    deliver(world, world.time("21:20"), [kit.stock])
    assert keys(world, "short-delivery") == []


def test_whoever_delivered_nothing_yet_is_only_slow() -> None:
    world, away = departed()
    assert keys(world, "short-delivery", "slow-transit") == [f"slow-transit/{away.id}"]


@pytest.mark.parametrize(
    ("receive", "short"),
    [
        (party("vault_custodian", "VAULT-1", "VAULT-2", site="VA"), True),
        (party("warehouse_clerk", "CLERK-1", "CLERK-2", site="WH"), False),
        (OTHER_DRIVERS, False),
    ],
    ids=["the vault", "the warehouse", "other drivers"],
)
def test_a_delivery_is_one_to_a_receiving_or_vault_party(receive: JsonParty, short: bool) -> None:
    world, away = departed()
    kit = world.kits["P01"]
    deliver(world, away.at + 25 * MINUTE, [kit.pollbook], receive=receive)
    assert keys(world, "short-delivery") == [f"short-delivery/{away.id}"] * short


def test_every_delivery_starts_the_time_anew() -> None:
    world, away = departed()
    for number, item in enumerate(world.returned("P01"), start=1):
        deliver(world, away.at + number * 15 * MINUTE, [item])
    assert keys(world, "short-delivery") == []


def test_a_box_that_came_in_between_deliveries_had_been_short_until_then() -> None:
    world, away = departed()
    kit = world.kits["P01"]
    first = deliver(world, away.at + 10 * MINUTE, all_but(world, *kit.containers))
    second = deliver(world, first.at + 20 * MINUTE, [kit.containers[0]])
    third = deliver(world, second.at + 10 * MINUTE, [kit.containers[1]])
    finding = one(world, "short-delivery")
    assert (finding.at, finding.items) == (first.at + 15 * MINUTE, tuple(sorted(kit.containers)))
    assert finding.cleared == Moment(third.at, third.id)


def test_what_other_drivers_took_over_is_not_held_by_those_who_delivered() -> None:
    world, away = departed()
    kit = world.kits["P01"]
    world.handoff([kit.stock], DRIVERS, OTHER_DRIVERS, "return", at=away.at + 5 * MINUTE)
    arrival = deliver(world, away.at + 25 * MINUTE, all_but(world, kit.stock))
    assert keys(world, "short-delivery", now=arrival.at + 50 * MINUTE) == []


@pytest.mark.parametrize(("late", "short"), [(0, False), (1, True)], ids=["at the limit", "a second later"])
def test_what_goes_to_other_drivers_at_the_limit_is_not_held_back(late: int, short: bool) -> None:
    world, away = departed()
    kit = world.kits["P01"]
    arrival = deliver(world, away.at + 25 * MINUTE, all_but(world, kit.stock))
    world.handoff([kit.stock], DRIVERS, OTHER_DRIVERS, "return", at=arrival.at + 15 * MINUTE + late)
    assert keys(world, "short-delivery") == [f"short-delivery/{away.id}"] * short


def test_what_came_back_from_other_drivers_after_a_quarter_of_an_hour_counts_from_the_full_hour() -> None:
    world, away = departed()
    kit = world.kits["P01"]
    world.handoff([kit.stock], DRIVERS, OTHER_DRIVERS, "return", at=away.at + 5 * MINUTE)
    arrival = deliver(world, away.at + 25 * MINUTE, all_but(world, kit.stock))
    world.handoff([kit.stock], OTHER_DRIVERS, DRIVERS, "return", at=arrival.at + 16 * MINUTE)
    assert one(world, "short-delivery").at == arrival.at + 60 * MINUTE


def test_a_delivery_by_other_drivers_gives_nobody_more_time() -> None:
    world, away = departed()
    kit = world.kits["P01"]
    world.handoff([kit.stock], DRIVERS, OTHER_DRIVERS, "return", at=away.at + 5 * MINUTE)
    arrival = deliver(world, away.at + 20 * MINUTE, all_but(world, kit.stock, kit.case))
    deliver(world, arrival.at + 10 * MINUTE, [kit.stock], release=OTHER_DRIVERS)
    assert one(world, "short-delivery").at == arrival.at + 15 * MINUTE


def test_a_finding_about_two_boxes_stays_open_until_both_are_in() -> None:
    world, away = departed()
    kit = world.kits["P01"]
    arrival = deliver(world, away.at + 20 * MINUTE, all_but(world, *kit.containers))
    deliver(world, arrival.at + 20 * MINUTE, [kit.containers[0]])
    finding = one(world, "short-delivery")
    assert (finding.items, finding.cleared) == (tuple(sorted(kit.containers)), None)


def test_what_went_to_other_drivers_too_late_was_held_back_and_is_not_in() -> None:
    world, away = departed()
    kit = world.kits["P01"]
    arrival = deliver(world, away.at + 25 * MINUTE, all_but(world, kit.stock))
    world.handoff([kit.stock], DRIVERS, OTHER_DRIVERS, "return", at=arrival.at + 20 * MINUTE)
    assert one(world, "short-delivery").cleared is None
    last = deliver(world, arrival.at + 40 * MINUTE, [kit.stock], release=OTHER_DRIVERS)
    assert one(world, "short-delivery").cleared == Moment(last.at, last.id)


def test_one_of_the_pair_who_is_relieved_changes_nothing() -> None:
    world, away = departed()
    kit = world.kits["P01"]
    arrival = deliver(world, away.at + 25 * MINUTE, all_but(world, kit.stock))
    now = party("courier", PAIR[0], "DRIVER-2-P02")
    world.handoff([kit.stock], DRIVERS, now, "relieve", at=arrival.at + 5 * MINUTE)
    finding = one(world, "short-delivery")
    assert (finding.at, finding.people) == (arrival.at + 15 * MINUTE, (PAIR[0], "DRIVER-2-P02"))


def test_a_thing_that_turns_up_at_the_place_is_no_longer_with_the_drivers() -> None:
    world, away = departed()
    kit = world.kits["P01"]
    arrival = deliver(world, away.at + 25 * MINUTE, all_but(world, kit.stock))
    back = world.incident("found", CHIEF, kit.stock, at=arrival.at + 30 * MINUTE)
    assert one(world, "short-delivery").cleared == Moment(back.at, back.id)


def test_a_thing_that_the_drivers_find_in_their_car_is_still_with_them() -> None:
    world, away = departed()
    kit = world.kits["P01"]
    arrival = deliver(world, away.at + 25 * MINUTE, all_but(world, kit.stock))
    world.incident("found", DRIVERS, kit.stock, at=arrival.at + 10 * MINUTE)
    finding = one(world, "short-delivery")
    assert (finding.at, finding.cleared) == (arrival.at + 15 * MINUTE, None)


def test_what_lies_in_a_case_is_held_back_with_it() -> None:
    world, away = departed()
    kit = world.kits["P01"]
    deliver(world, away.at + 25 * MINUTE, all_but(world, kit.case))
    assert one(world, "short-delivery").items == tuple(sorted((kit.case, kit.envelope, kit.memory, kit.tape)))


def test_what_left_by_another_entry_is_counted_by_itself() -> None:
    world = closed()
    kit = world.kits["P01"]
    world.handoff([kit.case], CHIEF, DRIVERS, "return", at=world.time("21:00"))
    world.handoff([kit.stock], CHIEF, DRIVERS, "return", at=world.time("21:01"))
    deliver(world, world.time("21:20"), [kit.case])
    assert keys(world, "short-delivery") == []


# key-with-lock


def test_keys_that_travel_with_what_they_open_are_flagged() -> None:
    world = closed()
    kit = world.kits["P01"]
    away = world.handoff([kit.keys, kit.case, kit.stock], CHIEF, DRIVERS, "return")
    assert one(world, "key-with-lock") == Finding(
        rule="key-with-lock",
        scope=(kit.keys, away.id),
        severity=Severity.WARNING,
        at=away.at,
        election=ELECTION,
        site="P01",
        origin="P01",
        entries=(away.id,),
        items=tuple(sorted((kit.keys, kit.case))),
        people=PAIR,
        message="key-with-lock",
        params={
            "items": sorted((kit.keys, kit.case)),
            "people": list(PAIR),
            "keys": kit.keys,
            "locks": [kit.case],
        },
    )


def test_keys_of_other_things_may_travel_along() -> None:
    world = closed()
    kit = world.kits["P01"]
    world.enter([world.spare.keys], CHIEF)
    world.handoff([world.spare.keys, kit.case], CHIEF, DRIVERS, "return")
    assert keys(world, "key-with-lock") == []


@pytest.mark.parametrize("first", ["keys", "case"])
def test_several_handoffs_bring_keys_and_lock_together(first: str) -> None:
    world = closed()
    kit = world.kits["P01"]
    things = [kit.keys, kit.case] if first == "keys" else [kit.case, kit.keys]
    deeds = [world.handoff([each], CHIEF, DRIVERS, "return") for each in things]
    of_keys = deeds[things.index(kit.keys)]
    finding = one(world, "key-with-lock")
    assert (finding.scope, finding.entries) == ((kit.keys, of_keys.id), (of_keys.id,))
    assert finding.at == deeds[1].at


def test_keys_that_another_driver_finds_beside_the_lock_are_flagged() -> None:
    world = closed()
    kit, one_driver, other = world.kits["P01"], party("courier", PAIR[0]), party("courier", PAIR[1])
    world.handoff([kit.case], CHIEF, one_driver, "return")
    world.handoff([kit.keys], CHIEF, other, "return")
    world.incident("lost", other, kit.keys)
    assert keys(world, "key-with-lock") == []
    deed = world.incident("found", one_driver, kit.keys)
    finding = one(world, "key-with-lock")
    assert (finding.at, finding.key) == (deed.at, f"key-with-lock/{kit.keys}:{deed.id}")


def test_keys_and_lock_with_different_drivers_are_apart() -> None:
    world = closed()
    kit = world.kits["P01"]
    world.handoff([kit.keys], CHIEF, OTHER_DRIVERS, "return")
    world.handoff([kit.case], CHIEF, DRIVERS, "return")
    assert keys(world, "key-with-lock") == []


def test_an_open_case_needs_no_key_until_it_is_sealed_on_the_way() -> None:
    world = closed()
    kit = world.kits["P01"]
    world.unseal([kit.case], CHIEF, "replace_seal")
    away = world.handoff([kit.keys, kit.case], CHIEF, DRIVERS, "return")
    assert keys(world, "key-with-lock") == []
    sealed = world.seal([reading(kit.case, "latch", "S0001039")], DRIVERS)
    finding = one(world, "key-with-lock")
    assert (finding.scope, finding.at, finding.site) == ((kit.keys, away.id), sealed.at, None)


def test_a_lock_is_sealed_by_the_container_around_it() -> None:
    world = closed()
    kit = world.kits["P01"]
    world.unseal([kit.case], CHIEF, "replace_seal")
    world.unpack(kit.case, [kit.envelope], CHIEF)
    box = world.add_item("ballot_container")
    world.enter([box], CHIEF)
    world.pack(box, [kit.case], CHIEF)
    world.handoff([kit.keys, box], CHIEF, DRIVERS, "return")
    assert keys(world, "key-with-lock") == []
    world.seal([reading(box, "front", "S0001038"), reading(box, "back", "S0001039")], DRIVERS)
    assert one(world, "key-with-lock").items == tuple(sorted((kit.keys, kit.case)))


def test_a_lock_is_sealed_when_it_goes_into_a_sealed_container_on_the_way() -> None:
    world = closed()
    kit = world.kits["P01"]
    world.unseal([kit.case], CHIEF, "replace_seal")
    away = world.handoff([kit.keys, kit.case, *kit.containers], CHIEF, DRIVERS, "return")
    packed = world.pack(kit.containers[0], [kit.case], DRIVERS)
    finding = one(world, "key-with-lock")
    assert (finding.scope, finding.at) == ((kit.keys, away.id), packed.at)


def test_keys_that_were_put_down_at_a_desk_are_with_no_driver() -> None:
    world = closed()
    kit = world.kits["P01"]
    world.handoff([kit.keys], CHIEF, DRIVERS, "return")
    world.handoff([kit.keys], DRIVERS, DESK, "return", signed_by=PAIR)
    world.handoff([kit.case], CHIEF, DRIVERS, "return")
    assert keys(world, "key-with-lock") == []


def test_one_key_is_flagged_once_by_one_party_however_many_locks_follow() -> None:
    world = closed()
    kit = world.kits["P01"]
    away = world.handoff([kit.keys, kit.case], CHIEF, DRIVERS, "return")
    world.handoff([kit.scanner], CHIEF, DRIVERS, "return")
    world.handoff([kit.keys, kit.case], DRIVERS, party("courier", PAIR[0], "DRIVER-2-P02"), "relieve")
    assert [(each.scope, each.at, each.items) for each in found(world, "key-with-lock")] == [
        ((kit.keys, away.id), away.at, tuple(sorted((kit.keys, kit.case))))
    ]


def test_another_party_that_takes_both_over_is_flagged_too() -> None:
    world = closed()
    kit = world.kits["P01"]
    away = world.handoff([kit.keys, kit.case], CHIEF, DRIVERS, "return")
    over = world.handoff([kit.keys, kit.case], DRIVERS, OTHER_DRIVERS, "return")
    assert [each.scope for each in found(world, "key-with-lock")] == [(kit.keys, away.id), (kit.keys, over.id)]


def test_keys_and_lock_may_come_out_together() -> None:
    world = World(places=1)
    kit = world.prepare("P01")
    clerks = world.party("warehouse_clerk")
    world.handoff([kit.keys, kit.scanner], clerks, DRIVERS, "issue", site="WH")
    world.handoff([kit.keys, kit.scanner], DRIVERS, CHIEF, "deliver")
    assert keys(world, "key-with-lock") == []
