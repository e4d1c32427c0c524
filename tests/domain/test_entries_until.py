"""Which entries a moment has: those whose time is not after it, when amendments after it say nothing."""

from __future__ import annotations

import random

from hypothesis import given, settings
from hypothesis import strategies as st

from custody.domain.amendments import apply_amendments, entries_until
from custody.domain.instants import dump_instant
from tests.world import DAY, HOUR, Deed, World
from tests.world_random import chance, random_world


def world_with_an_entry() -> tuple[World, Deed]:
    world = World(places=1)
    return world, world.enter([world.kits["P01"].case], world.party("warehouse_clerk"))


def known(world: World, now: int) -> set[str]:
    return {each.id for each in entries_until(world.recorded(), now)}


def moved(world: World, deed: Deed, by: int, *, at: int) -> Deed:
    """An amendment, made at `at`, that puts an entry's time off."""
    return world.amend(
        deed, world.party("warehouse_clerk"), {"at": dump_instant(deed.at + by)}, at=at, received=10 * at
    )


def test_an_entry_is_known_from_its_second_on() -> None:
    world, deed = world_with_an_entry()
    assert known(world, deed.at - 1) == set()
    assert known(world, deed.at) == {deed.id}


def test_an_amendment_counts_from_its_own_time_on() -> None:
    world, deed = world_with_an_entry()
    amend = moved(world, deed, -HOUR, at=deed.at + DAY)
    assert known(world, deed.at - HOUR) == set()
    assert known(world, amend.at - 1) == {deed.id}
    assert known(world, amend.at) == {deed.id, amend.id}


def test_an_entry_that_an_amendment_puts_off_is_gone_until_then() -> None:
    world, deed = world_with_an_entry()
    world.log[0] = Deed(payload=deed.payload, entry=deed.entry, signers=deed.signers, received=deed.at + 9 * DAY)
    amend = moved(world, deed, 2 * DAY, at=deed.at + DAY)
    assert known(world, amend.at - 1) == {deed.id}
    assert known(world, amend.at) == {amend.id}
    assert known(world, deed.at + 2 * DAY) == {deed.id, amend.id}


def test_an_amendment_that_is_itself_put_off_counts_until_that_is_said() -> None:
    world, deed = world_with_an_entry()
    first = moved(world, deed, HOUR, at=deed.at + HOUR)
    second = moved(world, first, 3 * DAY, at=deed.at + DAY)
    assert known(world, first.at) == {deed.id, first.id}
    assert known(world, second.at) == {deed.id, second.id}
    assert known(world, first.at + 3 * DAY) == {deed.id, first.id, second.id}


def test_amendments_in_a_ring_change_nothing_at_any_moment() -> None:
    world, deed = world_with_an_entry()
    first = moved(world, deed, 0, at=deed.at + HOUR)
    second = world.amend(first, world.party("warehouse_clerk"), {"at": dump_instant(deed.at)}, at=deed.at + 2 * HOUR)
    world.amend(
        second, world.party("warehouse_clerk"), {"amends": deed.id, "at": dump_instant(deed.at)}, at=deed.at + DAY
    )
    world.amend(first, world.party("warehouse_clerk"), {"amends": second.id}, at=deed.at + DAY)
    entries = world.recorded()
    for now in (deed.at, first.at, second.at, deed.at + DAY):
        assert [each.id for each in entries_until(entries, now)][:1] == [deed.id]


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**32), moment=st.randoms(use_true_random=False))
def test_what_is_known_is_known_by_what_is_known(seed: int, moment: random.Random) -> None:
    """Every entry of the answer is not after `now` when the amendments of the answer count, and every other one is."""
    world = random_world(chance(seed), places=1, acts=20, mischief=0.4)
    entries = world.recorded()
    now = moment.choice(entries).time + moment.choice((-1, 0, 1))
    inside = {each.id: each for each in entries_until(entries, now)}
    assert list(inside) == [each.id for each in entries if each.id in inside]
    assert all(each.time <= now for each in apply_amendments(inside).values())
    for each in entries:
        if each.id not in inside:
            assert apply_amendments(inside | {each.id: each})[each.id].time > now
