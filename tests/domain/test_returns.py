"""The list of what is outstanding, and that the finding after the deadline names the very same items."""

from __future__ import annotations

from custody.domain.returns import Outstanding, list_due, outstanding
from custody.domain.views import item_key
from custody.domain.vocabulary import ItemKind, Role
from tests.domain.rule_checks import found
from tests.domain.slips import PLACE
from tests.world import ELECTION, World, derive_world
from tests.world_random import chance, random_world

DEADLINE = World(places=1).time("02:00", day=1)


def listed(world: World, now: int, **only: str) -> list[Outstanding]:
    book = derive_world(world, [each for each in world.recorded() if each.time <= now])
    codes = sorted(world.register.items)
    return outstanding(codes, book.tracks.last, world.register, now=now, **only)


def test_what_is_out_is_listed_with_its_holder_and_since_when() -> None:
    world = World(places=1)
    kit = world.until(PLACE, "pack_for_return")
    leaving = world.depart(PLACE)
    drivers = tuple(leaving.payload["receive"]["people"])
    out = {each.item: each for each in listed(world, leaving.at)}
    # The scanner comes back by its own date; all else of the kit is out.
    assert set(out) == set(kit.all) - {kit.scanner}
    memory, keys = out[kit.memory], out[kit.keys]
    assert (memory.kind, memory.site, memory.container) == (ItemKind.MEMORY_DEVICE, PLACE, kit.envelope)
    assert memory.holder is not None
    assert (memory.holder.role, memory.holder.people, memory.since.entry) == (Role.COURIER, drivers, leaving.id)
    assert keys.holder is not None
    assert (keys.holder.role, keys.holder.site, keys.container) == (Role.POLL_CHIEF, PLACE, None)
    assert {each.owed_since.entry for each in out.values()} == {
        next(deed.id for deed in world.log if deed.payload.get("purpose") == "issue")
    }


def test_what_a_desk_received_is_off_the_list() -> None:
    world = World(places=2)
    for place in world.places:
        world.until(place, "pack_for_return")
    world.depart("P01")
    world.arrive("P01")
    keys = world.kits["P01"].keys
    assert [each.item for each in listed(world, world.at, site="P01")] == [keys]
    assert {each.site for each in listed(world, world.at)} == {"P01", "P02"}
    assert listed(world, world.at, election="OTHER") == []
    world.bring_keys("P01")
    assert listed(world, world.at, site="P01", election=ELECTION) == []


def test_the_list_is_in_order_of_place_kind_and_code() -> None:
    world = World(places=2)
    for place in world.places:
        world.until(place, "issue_kit")
    order = [(each.site, each.kind, each.item) for each in listed(world, world.at)]
    assert order == sorted(order)
    assert len(order) == 2 * (len(world.kits["P01"].all) - 1)


def test_an_item_is_overdue_after_the_deadline_and_not_at_it() -> None:
    world = World(places=1)
    world.until(PLACE, "pack_for_return")
    assert {each.overdue for each in listed(world, DEADLINE)} == {False}
    assert {each.overdue for each in listed(world, DEADLINE + 1)} == {True}


def test_overdue_and_unreturned_are_the_same_items_whatever_happened() -> None:
    """Over logs in which anything may go wrong: the finding and the list never part."""
    for seed in range(12):
        world = random_world(chance(seed), places=2, acts=20)
        now = max(DEADLINE + 1, max(deed.received for deed in world.log))
        open_findings = {
            (finding.election, finding.items[0], finding.site, finding.began)
            for finding in found(world, "unreturned", now=now)
            if finding.cleared is None
        }
        overdue = {(each.election, each.item, each.site, each.owed_since) for each in listed(world, now)}
        assert overdue == open_findings
        assert all(each.overdue for each in listed(world, now))


def test_a_thing_is_due_once_an_election_and_not_at_all_in_one_that_is_unknown() -> None:
    world = World(places=1)
    kit, clerks = world.kits[PLACE], world.party("warehouse_clerk")
    for election in (ELECTION, "NOWHERE"):
        world.handoff([kit.case], clerks, world.chief(PLACE), "issue", election=election)
    state = derive_world(world).tracks.last(item_key(kit.case))
    due = list_due(kit.case, state, world.register)  # type: ignore[arg-type]
    assert [(each.election, each.site, each.back, each.late_since) for each in due] == [
        (ELECTION, PLACE, None, DEADLINE)
    ]
