"""The history of an item: which entries are in it, what it says after each, and as of a moment."""

from __future__ import annotations

import pytest

from custody import store
from custody.domain.instants import dump_instant
from custody.errors import CustodyError
from custody.models.log import LogKind
from custody.queries.history import get_history
from tests.world import DAY, HOUR, World
from tests.world_random import chance, random_world
from tests.worlds_on_record import put_deeds, put_register

pytestmark = pytest.mark.django_db
PLACE = "P01"


def put(world: World) -> store.LogHead:
    put_register(world)
    log = store.make_log("ALDER", "main", LogKind.MAIN)
    put_deeds(log, (deed for deed in world.lines() if deed.signers))
    return log


@pytest.fixture
def world() -> World:
    world = World(places=1)
    world.until(PLACE, "bring_back")
    return world


def test_every_entry_that_names_the_item_or_what_it_is_in_is_an_event(world: World) -> None:
    kit = world.kits[PLACE]
    log = put(world)
    history = get_history(log, kit.memory)
    # It goes to the place in the scanner, is taken out, goes into the envelope, and that into the case.
    assert [(event.kind, event.site, event.after.container) for event in history.events] == [
        ("register", "WH", None),
        ("pack", "WH", kit.scanner),
        ("seal", "WH", kit.scanner),
        ("handoff", "WH", kit.scanner),
        ("handoff", PLACE, kit.scanner),
        ("inspect", PLACE, kit.scanner),
        ("step", PLACE, kit.scanner),
        ("step", PLACE, kit.scanner),
        ("step", PLACE, kit.scanner),
        ("count", PLACE, kit.scanner),
        ("step", PLACE, kit.scanner),
        ("step", PLACE, kit.scanner),
        ("count", PLACE, kit.scanner),
        ("unseal", PLACE, kit.scanner),
        ("unpack", PLACE, None),
        ("step", PLACE, None),
        ("pack", PLACE, kit.envelope),
        ("seal", PLACE, kit.envelope),
        ("pack", PLACE, kit.envelope),
        ("seal", PLACE, kit.envelope),
        ("handoff", PLACE, kit.envelope),
        ("handoff", "RS", kit.envelope),
    ]
    named = {deed.id: deed for deed in world.log}
    assert [event.at for event in history.events] == [named[event.entry].at for event in history.events]
    assert (history.item, history.kind) == (kit.memory, "memory_device")


def test_an_event_has_the_form_that_programs_know(world: World) -> None:
    kit = world.kits[PLACE]
    log = put(world)
    document = get_history(log, kit.containers[0]).as_json()
    assert set(document) == {"item", "events", "now"}
    last = next(deed for deed in world.log if deed.payload.get("site") == "RS")
    seals = {seal["point"]: seal["number"] for seal in last.payload["seals"] if seal["item"] == kit.containers[0]}
    desk = {"role": "receiving_clerk", "people": ["DESK-1", "DESK-2"], "site": "RS"}
    assert document["events"][-1] == {
        "entry": last.id,
        "seq": world.lines().index(last),
        "at": dump_instant(last.at),
        "received": dump_instant(last.received),
        "kind": "handoff",
        "site": "RS",
        "holder": desk,
        "container": None,
        "seals": seals,
    }
    assert document["now"] == {"holder": desk, "site": "RS", "container": None, "seals": seals}
    assert len(seals) == 2


def test_people_on_the_move_are_nowhere(world: World) -> None:
    kit = world.kits[PLACE]
    log = put(world)
    leaving = next(deed for deed in world.log if deed.payload.get("purpose") == "return")
    then = get_history(log, kit.case, as_of=leaving.at).as_json()["now"]
    assert then["holder"] == {"role": "courier", "people": ["DRIVER-1-P01", "DRIVER-2-P01"]}
    assert then["site"] is None


@pytest.mark.parametrize("seed", range(4))
def test_as_of_is_the_history_up_to_then(seed: int) -> None:
    """Without amendments the events are a beginning of those of the whole record, and `now` is the last of them."""
    world = random_world(chance(seed), places=1, acts=6, mischief=0.1)
    world.log = [deed for deed in world.log if deed.payload["kind"] != "amend"]
    log = put(world)
    checked = 0
    for code in (world.kits[PLACE].containers[0], world.kits[PLACE].case, world.kits[PLACE].memory):
        events = get_history(log, code).events
        for last in events[:: max(1, len(events) // 4)]:
            time = min(last.at, last.received)
            then = get_history(log, code, as_of=time)
            until = [event for event in events if min(event.at, event.received) <= time]
            assert list(then.events) == until
            assert then.now.as_json().get("holder") == until[-1].after.as_json().get("holder")
            assert (then.now.container, then.now.seals) == (until[-1].after.container, until[-1].after.seals)
            checked += 1
    assert checked > 9


def test_what_was_put_right_later_was_not_known_then(world: World) -> None:
    kit = world.kits[PLACE]
    packed = next(deed for deed in world.log if deed.payload.get("container") == kit.case)
    amend = world.amend(packed, world.chief(PLACE), {"items": [kit.pollbook]}, at=world.at + DAY)
    log = put(world)
    assert get_history(log, kit.pollbook, as_of=amend.at - 1).now.container is None
    assert get_history(log, kit.pollbook, as_of=amend.at).now.container == kit.case
    assert get_history(log, kit.pollbook).now.container == kit.case
    assert get_history(log, kit.envelope, as_of=amend.at - 1).now.container == kit.case
    assert get_history(log, kit.envelope).now.container is None


def test_a_code_is_read_forgivingly_and_a_tag_will_do(world: World) -> None:
    code = world.kits[PLACE].containers[0]
    world.change("items", code=code, kind="ballot_container", tag="Box 7", seal_points=["front", "back"])
    log = put(world)
    expected = get_history(log, code)
    typed = f"{code[:2].lower()}-{code[2:].replace('0', 'o').replace('1', 'l')} "
    assert typed != code
    for text in (typed, "Box 7", f" {code}"):
        assert get_history(log, text) == expected


def test_a_tag_of_several_items_is_asked_about(world: World) -> None:
    for code in world.kits[PLACE].containers:
        world.change("items", code=code, kind="ballot_container", tag="Box 7")
    log = put(world)
    with pytest.raises(CustodyError) as caught:
        get_history(log, "Box 7")
    assert (caught.value.code, caught.value.data["items"]) == ("which-item", sorted(world.kits[PLACE].containers))


def test_an_item_that_only_the_record_knows_has_a_history(world: World) -> None:
    strange = world.handoff(["X-1"], world.chief(PLACE), world.drivers(PLACE), "return")
    log = put(world)
    history = get_history(log, "X-1")
    assert (history.kind, [event.entry for event in history.events]) == ("", [strange.id])


def test_an_item_of_the_register_that_nobody_touched_has_no_events(world: World) -> None:
    log = put(world)
    history = get_history(log, world.spare.case)
    assert history.as_json() == {
        "item": world.spare.case,
        "events": [],
        "now": {"site": None, "container": None, "seals": {}},
    }


@pytest.mark.parametrize("text", ["BC000016X", "", "nothing", "BC00001Z"])
def test_an_item_that_nobody_knows_is_an_error(world: World, text: str) -> None:
    log = put(world)
    with pytest.raises(CustodyError) as caught:
        get_history(log, text)
    assert caught.value.code == "no-item"


def test_entries_that_arrive_late_stand_at_their_time(world: World) -> None:
    kit = world.kits[PLACE]
    late = world.inspect([kit.case], world.drivers(PLACE), at=world.time("21:10"), received=world.at + HOUR)
    log = put(world)
    events = get_history(log, kit.case).events
    place = [event.entry for event in events].index(late.id)
    assert [event.kind for event in events[place - 1 :][:3]] == ["handoff", "inspect", "handoff"]
    assert events[place].seq > events[place + 1].seq
