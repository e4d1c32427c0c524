"""How places stand at the end of the night, against a scripted evening; and the tables that it is read from."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from custody import store
from custody.domain.instants import dump_instant, local_instant
from custody.models.derived import BackRow
from custody.models.log import LogKind
from custody.models.night import Estimate
from custody.projections.apply import rebuild
from custody.queries.night import Basis, Night, NightPlace, PlaceState, get_night
from custody.queries.night_curve import Curve, get_curves
from custody.queries.outstanding import list_outstanding
from custody.registers import get_register
from tests.world import MINUTE, World
from tests.world_register import ELECTION, JURISDICTION, TIMEZONE
from tests.worlds_on_record import put_deeds, put_register

pytestmark = pytest.mark.django_db


def put(world: World) -> store.LogHead:
    put_register(world)
    log = store.make_log(JURISDICTION, "main", LogKind.MAIN)
    put_deeds(log, world.lines())
    return store.open_log(JURISDICTION, "main")


def night_of(log: store.LogHead, now: int) -> Night:
    night = get_night(log, now=now)
    assert night is not None
    return night


def curves_of(log: store.LogHead) -> list[Curve]:
    return get_curves(log, night_of(log, World.time("22:00")))


def by_site(night: Night) -> dict[str, NightPlace]:
    return {each.site: each for each in night.places}


def five_places() -> World:
    """In, on the way, at work, silent since before its polls closed, and nothing heard at all."""
    world = World(places=5)
    world.until("P01", "bring_back")
    world.until("P02", "pack_for_return")
    world.depart("P02")
    world.until("P03", "pack_for_return")
    world.until("P04", "noon")
    return world


def test_every_place_of_the_kits_stands_in_one_state() -> None:
    world = five_places()
    arrival = next(each for each in world.log if each.payload["kind"] == "handoff" and each.at == world.time("21:40"))
    night = night_of(put(world), world.time("21:50"))
    assert {each.site: each.state for each in night.places} == {
        "P01": PlaceState.IN,
        "P02": PlaceState.ON_THE_WAY,
        "P03": PlaceState.AT_WORK,
        "P04": PlaceState.SILENT,
        "P05": PlaceState.SILENT,
    }
    places = by_site(night)
    assert places["P01"].since == arrival.at and places["P01"].owed == 0 and places["P01"].expected is None
    on_the_way = places["P02"]
    assert [each.people for each in on_the_way.couriers] == [("DRIVER-1-P02", "DRIVER-2-P02")]
    assert on_the_way.since == world.time("21:01")
    assert places["P03"].closed == world.time("20:00") and places["P04"].closed == world.time("20:00")
    assert places["P05"].heard is None and places["P05"].owed == 0
    # The most pressing come first.
    assert [each.site for each in night.places] == ["P04", "P05", "P02", "P03", "P01"]


def test_nothing_is_silent_before_the_polls_close_nor_on_its_way_back_before_they_open() -> None:
    world = World(places=2)
    kit = world.prepare("P01")
    world.handoff(world.outer(kit), world.party("warehouse_clerk"), world.drivers("P01"), "issue", site="WH")
    world.until("P02", "noon")
    log = put(world)
    assert {each.state for each in night_of(log, world.time("19:59")).places} == {PlaceState.AT_WORK}
    assert {each.state for each in night_of(log, world.time("20:00")).places} == {PlaceState.SILENT}


def test_expected_arrival_is_policy_s_time_for_transit_from_departure_else_the_deadline() -> None:
    world = five_places()
    log = put(world)
    places = by_site(night_of(log, world.time("22:31")))
    # The default policy: 90 minutes in transit at most.
    assert (places["P02"].expected, places["P02"].basis) == (world.time("21:01") + 90 * MINUTE, Basis.POLICY)
    assert places["P02"].state is PlaceState.ON_THE_WAY  # at the very minute it is in time
    assert by_site(night_of(log, world.time("22:31") + 1))["P02"].state is PlaceState.OVERDUE
    deadline = night_of(log, world.time("22:31")).election.return_deadline
    assert (places["P03"].expected, places["P03"].basis) == (deadline, Basis.DEADLINE)
    late = by_site(night_of(log, deadline + 1))
    assert {site: each.state for site, each in late.items()} == {
        "P01": PlaceState.IN,
        "P02": PlaceState.OVERDUE,
        "P03": PlaceState.OVERDUE,
        "P04": PlaceState.OVERDUE,
        "P05": PlaceState.SILENT,
    }


@pytest.mark.parametrize(
    ("way", "value", "clock", "site"),
    [("departure", 20, "21:21", "P02"), ("closing", 100, "21:40", "P02"), ("closing", 100, "21:40", "P03")],
)
def test_a_typed_estimate_counts_from_departure_or_closing(way: str, value: int, clock: str, site: str) -> None:
    world = five_places()
    log = put(world)
    Estimate.objects.create(jurisdiction=JURISDICTION, log="main", election=ELECTION, site=site, way=way, value=value)
    place = by_site(night_of(log, world.time(clock)))[site]
    assert (place.expected, place.basis) == (world.time(clock), Basis(way))
    assert place.state is not PlaceState.OVERDUE
    assert by_site(night_of(log, world.time(clock) + 1))[site].state is PlaceState.OVERDUE


def test_an_estimate_of_another_log_or_of_a_time_is_told_apart() -> None:
    world = five_places()
    log, at = put(world), world.time("23:00")
    for name, value in (("drill", 5), ("main", at)):
        Estimate.objects.create(
            jurisdiction=JURISDICTION, log=name, election=ELECTION, site="P03", way="time", value=value
        )
    place = by_site(night_of(log, at))["P03"]
    assert (place.expected, place.basis, place.state) == (at, Basis.TIME, PlaceState.AT_WORK)


def test_minutes_of_travel_say_nothing_of_a_place_that_nothing_has_left() -> None:
    world = five_places()
    log = put(world)
    Estimate.objects.create(
        jurisdiction=JURISDICTION, log="main", election=ELECTION, site="P03", way="departure", value=5
    )
    assert by_site(night_of(log, world.time("23:00")))["P03"].basis is Basis.DEADLINE


def test_what_is_out_is_grouped_by_who_holds_it_and_adds_up_to_the_list() -> None:
    world = five_places()
    log, now = put(world), world.time("21:50")
    night, listed = night_of(log, now), list_outstanding(log, now=now)
    assert night.items_out == sum(each.items for each in night.parties) == len(listed)
    found: dict[Any, int] = {}
    for each in listed:
        found[each.holder] = found.get(each.holder, 0) + 1
    assert {each.holder: each.items for each in night.parties} == found
    assert [each.since for each in night.parties] == sorted(each.since for each in night.parties)


def test_the_curve_counts_places_and_items_from_the_closing_of_the_polls() -> None:
    world = five_places()
    log = put(world)
    (curve,) = curves_of(log)
    returned, closed = len(world.kits["P01"].all) - 1, world.time("20:00")  # all but the scanner
    assert curve.places == [world.time("21:40") - closed]
    assert curve.items == [(85 * MINUTE, returned - 1), (100 * MINUTE, 1)]
    assert (curve.all_places, curve.all_items) == (4, returned + len(list_outstanding(log, now=world.time("22:00"))))


def test_the_curve_of_the_last_election_before_stands_beside() -> None:
    world = five_places()
    for code, day in (("PRIM26", "2026-03-03"), ("GEN24", "2024-11-05")):
        times = {"polls_open": f"{day}T07:00", "polls_close": f"{day}T20:00", "return_deadline": f"{day}T23:59"}
        world.change("elections", code=code, name=f"Election of {day}", date=day, timezone=TIMEZONE, **times)
    log = put(world)
    assert [each.election for each in curves_of(log)] == [ELECTION]
    closed = local_instant("2024-11-05T20:00", TIMEZONE)
    for site, item, minutes in (("P01", "TC000001", 50), ("P01", "BC000001", 40), ("P02", "BC000002", 70)):
        BackRow.objects.create(
            log_id=log.id,
            election="GEN24",
            site=site,
            item=item,
            kind="ballot_container",
            back=closed + minutes * MINUTE,
        )
    before = curves_of(log)[1]
    assert (before.name, before.all_places, before.all_items) == ("Election of 2024-11-05", 2, 3)
    assert before.places == [50 * MINUTE, 70 * MINUTE]
    assert before.items == [(40 * MINUTE, 1), (50 * MINUTE, 1), (70 * MINUTE, 1)]


def test_a_thing_that_comes_back_late_and_is_then_amended_stays_the_same_after_a_rebuild() -> None:
    world = five_places()
    arrival = world.arrive("P02")
    world.amend(arrival, world.party("receiving_clerk"), {"at": dump_instant(world.time("21:20"))})
    log = put(world)
    before = curves_of(log), table("backrow"), table("owedrow")
    rebuild(log, get_register(JURISDICTION))
    assert (curves_of(log), table("backrow"), table("owedrow")) == before
    assert (80 * MINUTE, len(world.returned("P02")) + 3) in before[0][0].items


def table(name: str) -> list[Any]:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM custody_{name} ORDER BY election, site, item")  # noqa: S608
        return cursor.fetchall()


def test_a_night_takes_as_many_queries_for_eight_places_as_for_two() -> None:
    world, counts = World(places=8), []
    put_register(world)
    log = store.make_log(JURISDICTION, "main", LogKind.MAIN)
    for places in (world.places[:2], world.places[2:]):
        before = len(world.log)
        for site in places:
            world.until(site, "pack_for_return")
            world.depart(site)
        put_deeds(log, world.log[before:])
        head, now = store.open_log(JURISDICTION, "main"), world.time("22:00")
        night_of(head, now)
        with CaptureQueriesContext(connection) as queries:
            assert night_of(head, now).count(PlaceState.ON_THE_WAY) == (2 if places[0] == "P01" else 8)
            curves_of(head)
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 24
