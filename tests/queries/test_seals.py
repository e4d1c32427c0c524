"""The history of a seal number: lots, handed over loose, put on, read, taken off, reported void."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from custody import store
from custody.models.log import LogKind
from custody.queries.seals import SealHistory, get_seal_history
from tests.world import ELECTION, MAKER, OTHER_MAKER, World, reading
from tests.worlds_on_record import put_deeds, put_register

pytestmark = pytest.mark.django_db
PLACE = "P01"


def history(world: World, number: str) -> SealHistory:
    put_register(world)
    log: store.LogHead = store.make_log("ALDER", "main", LogKind.MAIN)
    put_deeds(log, world.lines())
    return get_seal_history(log, number, now=world.at)


def told(found: SealHistory) -> list[tuple[str, str, str | None]]:
    return [(event.what, event.kind, event.item) for event in found.events]


@pytest.fixture
def world() -> World:
    world = World(places=1)
    world.until(PLACE, "close_polls")
    return world


def test_the_way_of_a_seal_from_its_lot_to_its_removal(world: World) -> None:
    kit = world.kits[PLACE]
    number = world.in_place[kit.containers[0], "front"]
    world.pack_for_return(PLACE)
    world.bring_back(PLACE)
    desk = world.party("receiving_clerk")
    world.unseal([kit.containers[0]], desk, "count")
    found = history(world, number)
    (lot,) = found.as_json()["lots"]
    assert lot == {
        "maker": MAKER,
        "lot": "LOT-PLACES",
        "seals": "S0001000..S0001039",
        "issued_to": PLACE,
        "election": ELECTION,
    }
    box = kit.containers[0]
    assert told(found) == [
        ("handed_over", "handoff", None),
        ("handed_over", "handoff", None),
        ("applied", "seal", box),
        ("read", "handoff", box),
        ("read", "handoff", box),
        ("removed", "unseal", box),
    ]
    assert [event.holder and event.holder.role for event in found.events[:2]] == ["courier", "poll_chief"]
    assert found.in_place == ()


def test_an_entry_that_reads_many_other_seals_takes_no_more_queries(world: World) -> None:
    box, others = world.kits[PLACE].containers[0], [world.add_item("ballot_container") for _ in range(40)]
    number = world.in_place[box, "front"]
    read = [reading(each, "front", f"S00990{at:02}") for at, each in enumerate(others)]
    world.inspect([reading(box, "front", number), *read[:2]], world.chief(PLACE))
    world.inspect([reading(box, "front", number), *read], world.chief(PLACE))
    put_register(world)
    log: store.LogHead = store.make_log("ALDER", "main", LogKind.MAIN)
    put_deeds(log, world.lines())
    get_seal_history(log, number, now=world.at)  # the register is read once
    with CaptureQueriesContext(connection) as captured:
        found = get_seal_history(log, number, now=world.at)
    assert told(found)[-2:] == [("read", "inspect", box)] * 2
    assert len(captured) <= 12


def test_where_a_seal_is_now_is_told(world: World) -> None:
    box = world.kits[PLACE].containers[0]
    found = history(world, world.in_place[box, "front"])
    assert found.as_json()["now"] == [{"item": box, "point": "front"}]


def test_a_reading_at_another_place_than_its_own_is_told(world: World) -> None:
    box, other = world.kits[PLACE].containers
    number = world.in_place[box, "front"]
    seen = world.inspect([reading(other, "front", number)], world.chief(PLACE))
    found = history(world, number)
    assert told(found)[-1] == ("read", "inspect", other)
    assert found.events[-1].entry == seen.id
    assert found.in_place == ((box, "front"), (other, "front"))


def test_a_seal_that_could_not_be_read_is_told_where_it_was(world: World) -> None:
    box = world.kits[PLACE].containers[0]
    number = world.in_place[box, "front"]
    world.inspect([reading(box, "front", state="missing")], world.chief(PLACE))
    found = history(world, number)
    assert (told(found)[-1], found.events[-1].state) == (("read", "inspect", box), "missing")
    assert found.in_place == ()


def test_another_seal_over_it_replaces_it(world: World) -> None:
    box = world.kits[PLACE].containers[0]
    number, fresh = world.in_place[box, "front"], world.loose[PLACE][0]
    world.seal([reading(box, "front", fresh)], world.chief(PLACE))
    assert told(history(world, number))[-1] == ("replaced", "seal", box)


def test_a_number_reported_void_says_so(world: World) -> None:
    number = world.loose[PLACE][0]
    world.incident("seal_void", world.chief(PLACE), loose=[number])
    world.incident("other", world.chief(PLACE), loose=[number])
    assert told(history(world, f" {number} "))[2:] == [("void", "incident", None)]


def test_a_number_of_two_makers_has_both_lots(world: World) -> None:
    found = history(world, "T0000007")
    assert [lot.maker for lot in found.lots] == sorted((MAKER, OTHER_MAKER))
    assert (found.events, found.in_place) == ((), ())


def test_a_number_that_nobody_knows_has_an_empty_history(world: World) -> None:
    assert history(world, "Q99").as_json() == {"number": "Q99", "lots": [], "events": [], "now": []}
