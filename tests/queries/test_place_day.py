"""A place's day: its steps, its counts, its account against published worksheets, its things and who holds them."""

from __future__ import annotations

import pytest

from custody import store
from custody.models.log import LogKind
from custody.queries.place_day import DayShown, get_place_day, list_held
from tests.standards.test_ballot_accounts import NORTH_CAROLINA, account
from tests.world import CAST, ELECTION, RECEIVED, UNUSED, World
from tests.worlds_on_record import put_deeds, put_register

pytestmark = pytest.mark.django_db
PLACE = "P01"


def put(world: World) -> store.LogHead:
    put_register(world)
    log: store.LogHead = store.make_log("ALDER", "main", LogKind.MAIN)
    put_deeds(log, world.lines())
    return log


def day_of(world: World) -> DayShown:
    day = get_place_day(put(world), ELECTION, PLACE, now=max([world.at, *(each.at for each in world.log)]))
    assert day is not None
    return day


@pytest.mark.parametrize(
    ("date", "delivered", "left", "used", "auxiliary", "provisional", "spoiled", "scanned"), NORTH_CAROLINA
)
def test_an_account_is_that_of_the_published_worksheet(
    date: str, delivered: int, left: int, used: int, auxiliary: int, provisional: int, spoiled: int, scanned: int
) -> None:
    """Worksheets of the chief judge of a North Carolina precinct, published by its county."""
    figures = {
        "ballots_cast": scanned + auxiliary,
        "ballots_unused": left,
        "ballots_spoiled": spoiled,
        "ballots_provisional": provisional,
        "ballots_auxiliary": auxiliary,
    }
    found = day_of(account(delivered, scanned=scanned, **figures)).account
    assert (found.received, found.unused, found.used) == (delivered, left, used)
    assert (found.auxiliary, found.provisional, found.spoiled) == (auxiliary, provisional, spoiled)
    assert (found.expected, found.scanned, found.difference) == (scanned, scanned, 0)


def test_harris_county_2020_differs_by_401() -> None:
    """State audit letter: 19,216 + 99 = 19,315 expected, 19,716 found."""
    world = account(19_315, scanned=19_716, ballots_cast=19_315, ballots_unused=0)
    found = day_of(world).account
    assert (found.expected, found.scanned, found.difference) == (19_315, 19_716, 401)


def test_a_figure_that_nobody_wrote_down_leaves_the_account_open() -> None:
    world = World(places=1)
    world.until(PLACE, "open_polls")
    found = day_of(world).account
    assert (found.received, found.unused, found.expected, found.difference) == (RECEIVED, None, None, None)
    assert not found.is_empty


def test_steps_stand_in_the_order_of_the_day_with_what_is_missing() -> None:
    world = World(places=1)
    world.until(PLACE, "open_polls")
    done = {each.step: each for each in day_of(world).steps}
    assert [(each.step, each.phase) for each in done.values()] == [
        ("seals_verified", "opening"),
        ("bin_empty", "opening"),
        ("auxiliary_bin_empty", "opening"),
        ("zero_tape_signed", "opening"),
        ("polls_opened", "opening"),
        ("keys_tried", "day"),
        ("shown_empty", "day"),
        ("polls_closed", "closing"),
        ("results_tape_signed", "closing"),
        ("memory_removed", "closing"),
        ("bin_emptied", "closing"),
        ("unit_locked", "closing"),
    ]
    assert done["polls_opened"].at == world.time("07:00")
    assert [name for name, each in done.items() if each.entry is None] == [
        "polls_closed", "results_tape_signed", "memory_removed", "bin_emptied", "unit_locked",
    ]  # fmt: skip


def test_a_step_at_the_wrong_end_of_the_day_is_out_of_order() -> None:
    world = World(places=1)
    crew = world.chief(PLACE)
    world.at = world.time("06:50")
    world.step("polls_opened", crew, at=world.time("07:00"))
    world.step("bin_empty", crew, at=world.time("07:30"))
    world.step("unit_locked", crew, at=world.time("19:30"))
    world.step("polls_closed", crew, at=world.time("20:00"))
    world.at = world.time("20:10")
    assert [each.step for each in day_of(world).steps if each.out_of_order] == ["bin_empty", "unit_locked"]


def test_counts_are_those_of_the_place_with_the_scanners_added_up_at_both_ends() -> None:
    world = World(places=1)
    world.until(PLACE, "close_polls")
    day = day_of(world)
    assert [(each.ballots, each.checked_in, each.difference, each.added_up) for each in day.counts] == [
        (0, None, None, True),
        (250, 252, -2, False),
        (CAST, None, None, True),
        (None, 514, None, False),
    ]
    assert (day.account.boxed, day.account.boxed_difference, day.account.boxes, day.account.sealed) == (512, 0, 2, 2)
    assert day.account.unused == UNUSED


def test_the_things_of_a_place_name_who_holds_them_now() -> None:
    world = World(places=1)
    world.until(PLACE, "pack_for_return")
    world.depart(PLACE)
    kit = world.kits[PLACE]
    day = day_of(world)
    things = {each.item: each for each in day.items}
    assert set(things) == set(kit.all)
    assert {code for code, each in things.items() if each.here} == {kit.keys, kit.scanner}
    device = things[kit.memory]
    assert (device.container, device.holder and device.holder.role) == (kit.envelope, "courier")
    assert day.left == world.log[-1].at


def test_a_place_of_which_nothing_is_on_record_has_its_schedule_and_no_more() -> None:
    world = World(places=2)
    world.prepare("P02")
    day = day_of(world)
    assert (day.opened, day.closed) == ((world.time("07:00"), None), (world.time("20:00"), None))
    assert (day.left, day.counts, day.items, day.account.is_empty) == (None, (), (), True)
    assert {each.entry for each in day.steps} == {None}


def test_what_is_held_at_a_desk_is_listed_for_it() -> None:
    world = World(places=1)
    world.until(PLACE, "bring_back")
    held = {each.item for each in list_held(put(world), "RS", now=world.at)}
    kit = world.kits[PLACE]
    assert held == set(kit.all) - {kit.scanner}
