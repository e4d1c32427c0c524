"""The list of what is out, as commands, pages and API give it: holders, phones, containers, deadlines."""

from __future__ import annotations

import pytest

from custody import register_tables, store
from custody.domain.instants import dump_instant
from custody.models.log import LogKind
from custody.queries.outstanding import OutstandingItem, list_outstanding
from tests.world import HOUR, World, party
from tests.worlds_on_record import put_deeds, put_register

pytestmark = pytest.mark.django_db
PLACE = "P01"
PHONES = [("DRIVER-2-P01", "phone", "555-0102", b"s" * 16), ("DRIVER-1-P01", "name", "Ann Alder", b"s" * 16)]


@pytest.fixture
def world() -> World:
    world = World(places=1)
    world.until(PLACE, "pack_for_return")
    return world


def put(world: World) -> store.LogHead:
    put_register(world)
    log = store.make_log("ALDER", "main", LogKind.MAIN)
    put_deeds(log, world.lines())
    return log


def by_item(listed: list[OutstandingItem]) -> dict[str, OutstandingItem]:
    return {each.item: each for each in listed}


def test_a_row_names_holder_since_container_and_phone(world: World) -> None:
    kit, leaving = world.kits[PLACE], world.depart(PLACE)
    log = put(world)
    register_tables.write_personal_values("ALDER", PHONES)
    listed = by_item(list_outstanding(log, now=world.at))
    assert set(listed) == {*kit.all} - {kit.scanner}
    assert listed[kit.memory].as_json() == {
        "item": kit.memory,
        "kind": "memory_device",
        "site": PLACE,
        "holder": {"role": "courier", "people": ["DRIVER-1-P01", "DRIVER-2-P01"]},
        "since": dump_instant(leaving.at),
        "container": kit.envelope,
        "phone": "555-0102",
        "overdue": False,
    }
    assert listed[kit.keys].as_json()["holder"] == {
        "role": "poll_chief",
        "people": ["CHIEF-P01", "WORKER-1-P01"],
        "site": PLACE,
    }


def test_without_a_number_of_the_holders_the_place_is_rung(world: World) -> None:
    kit = world.kits[PLACE]
    world.change("sites", code=PLACE, name="Hall", kind="polling_place", phone="555-0199")
    log = put(world)
    assert by_item(list_outstanding(log, now=world.at))[kit.case].phone == "555-0199"
    register_tables.write_personal_values("ALDER", [("CHIEF-P01", "phone", "555-0101", b"s" * 16)])
    assert by_item(list_outstanding(log, now=world.at))[kit.case].phone == "555-0101"
    register_tables.erase_personal_values("ALDER", [("CHIEF-P01", "phone")])
    assert by_item(list_outstanding(log, now=world.at))[kit.case].phone == "555-0199"


def test_where_nobody_has_a_number_there_is_none(world: World) -> None:
    log = put(world)
    assert {each.phone for each in list_outstanding(log, now=world.at)} == {None}


def test_after_the_deadline_it_is_overdue(world: World) -> None:
    log = put(world)
    deadline = world.time("02:00", day=1)
    assert {each.overdue for each in list_outstanding(log, now=deadline)} == {False}
    assert {each.overdue for each in list_outstanding(log, now=deadline + 1)} == {True}


def test_what_a_container_holds_is_with_whoever_has_the_container(world: World) -> None:
    """The case alone is named in the handover; the list follows what is in it, also when it was packed by others before."""
    kit = world.kits[PLACE]
    handed = world.handoff([kit.case], world.chief(PLACE), world.drivers(PLACE), "return")
    log = put(world)
    listed = by_item(list_outstanding(log, now=world.at))
    assert {listed[code].since for code in (kit.case, kit.envelope, kit.memory, kit.tape)} == {handed.at}
    assert listed[kit.keys].since < handed.at
    back = world.handoff([kit.case], world.drivers(PLACE), world.party("receiving_clerk"), "return")
    put_deeds(log, [back])
    assert {kit.case, kit.envelope, kit.memory, kit.tape} & set(by_item(list_outstanding(log, now=world.at))) == set()


def test_what_goes_into_a_box_that_others_hold_is_with_them(world: World) -> None:
    kit = world.kits[PLACE]
    world.handoff([kit.case], world.chief(PLACE), world.drivers(PLACE), "return")
    world.pack(kit.case, [kit.keys], world.drivers(PLACE), site=PLACE)
    log = put(world)
    listed = by_item(list_outstanding(log, now=world.at))
    assert listed[kit.keys].holder == listed[kit.case].holder
    assert listed[kit.keys].container == kit.case


def test_what_nobody_is_on_record_to_hold_has_no_holder() -> None:
    world = World(places=1)
    code = world.kits[PLACE].pollbook
    seen = world.step("unit_locked", party("poll_chief", "CHIEF-P01", site=PLACE), code, at=world.time("06:00"))
    log = put(world)
    (row,) = list_outstanding(log, now=seen.at)
    assert (row.item, row.holder, row.since) == (code, None, seen.at)
    assert "holder" not in row.as_json()


def test_filters_choose_by_election_and_place() -> None:
    world = World(places=2)
    for place in world.places:
        world.until(place, "issue_kit")
    log = put(world)
    everywhere = list_outstanding(log, now=world.at)
    assert list_outstanding(log, now=world.at, site="P02") == [each for each in everywhere if each.site == "P02"]
    assert {each.site for each in everywhere} == {"P01", "P02"}
    assert list_outstanding(log, now=world.at, election="GEN26") == everywhere
    assert list_outstanding(log, now=world.at, election="OTHER") == []
    assert list_outstanding(log, now=world.time("08:00", day=-20)) == []


def test_the_policy_at_the_deadline_says_which_kinds_come_back(world: World) -> None:
    kit = world.kits[PLACE]
    world.set_policy({"items": {"scanner": {"returned": True}}}, valid_from="2026-11-04T00:00:00Z")
    log = put(world)
    assert kit.scanner in by_item(list_outstanding(log, now=world.at))
    assert kit.scanner in by_item(list_outstanding(log, now=world.at + 30 * HOUR))
