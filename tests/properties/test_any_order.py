"""Whatever the order of arrival, one by one or in batches: the same states and findings as from nothing."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from custody import store
from custody.domain.book import Book, derive, work_out
from custody.domain.findings import Finding
from custody.domain.recorded import Position
from custody.domain.state_codec import dump_state, load_state
from custody.domain.states import State
from custody.models.log import LogKind
from custody.projections.apply import derive_log, rebuild
from custody.projections.compare import list_differences
from custody.registers import get_register, open_register_log
from custody.services.append_changes import append_changes
from tests.world_random import BadWorld, chance, random_world
from tests.worlds_on_record import put_deeds, put_register

Snapshot = tuple[dict[str, list[tuple[Position, State]]], dict[str, tuple[Finding, ...]]]


def snapshot(book: Book) -> Snapshot:
    """Every state at every position, and every finding of every scope."""
    states = {key: book.tracks.all(key) for key in book.tracks.known()}
    findings = {scope: found for scope, found in book.findings.items() if found}
    return {key: touched for key, touched in states.items() if touched}, findings


def bad_world(seed: int) -> BadWorld:
    """A bad day of one place: some seventy entries, many of them wrong."""
    return random_world(chance(seed), places=1, acts=10)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**32), order=st.randoms(use_true_random=False))
def test_every_order_of_arrival_gives_the_same_book(seed: int, order: random.Random) -> None:
    world = bad_world(seed)
    expected = snapshot(derive(world.recorded(), world.register))
    arrivals = world.recorded()
    order.shuffle(arrivals)
    book = Book(world.register)
    while arrivals:
        count = order.choice((1, 1, 2, 7))
        work_out(book, book.take(arrivals[:count]))
        arrivals = arrivals[count:]
    assert snapshot(book) == expected


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_every_state_survives_its_text(seed: int) -> None:
    world = bad_world(seed)
    for key, touched in snapshot(derive(world.recorded(), world.register))[0].items():
        for _, state in touched:
            assert load_state(key, dump_state(state)) == state


@pytest.mark.django_db
@pytest.mark.parametrize("seed", range(8))
def test_tables_equal_a_rebuild_from_nothing(seed: int) -> None:
    world, order = bad_world(seed), chance(seed)
    put_register(world)
    log = store.make_log("ALDER", "main", LogKind.MAIN)
    deeds = [deed for deed in world.lines() if deed.signers]  # the door takes nothing that nobody signed
    order.shuffle(deeds)
    while deeds:
        count = order.choice((1, 1, 3, 12))
        put_deeds(log, deeds[:count])
        deeds = deeds[count:]
    worked_out = derive_log(log, world.register)
    assert len(worked_out.worked) == len({deed.id for deed in world.log if deed.signers})
    assert list_differences(log, worked_out) == []
    rebuild(log, world.register)
    assert list_differences(log, derive_log(log, world.register)) == []


@pytest.mark.django_db
@pytest.mark.parametrize("seed", range(4))
def test_a_change_of_the_register_counts_for_what_is_on_record(seed: int) -> None:
    world = bad_world(seed)
    put_register(world)
    log = store.make_log("ALDER", "main", LogKind.MAIN)
    put_deeds(log, (deed for deed in world.lines() if deed.signers))
    change_register(chance(seed), world)
    assert list_differences(log, derive_log(log, get_register("ALDER"))) == []


def change_register(rng: random.Random, world: BadWorld) -> None:
    """What an office puts right the day after: roles, kits, descriptions of items, lots; each on the register's log."""
    place, spare = world.places[0], world.spare
    changes: list[dict[str, list[dict[str, object]]]] = [
        {
            "assignments": [
                {"election": "GEN26", "person": f"CHIEF-{place}", "role": "poll_chief", "site": place, "retired": True}
            ]
        },
        {"assignments": [{"election": "GEN26", "person": "CLERK-1", "role": "official", "site": ""}]},
        {"kits": [{"election": "GEN26", "site": place, "item": spare.memory}]},
        {"items": [{"code": world.kits[place].stock, "kind": "envelope", "seal_points": ["front"]}]},
        {
            "seal_lots": [
                {
                    "maker": "MAKER-N",
                    "lot": "LOT-N",
                    "prefix": "X",
                    "first": 1,
                    "last": 9,
                    "width": 1,
                    "issued_to": place,
                }
            ]
        },
        {"people": [{"code": f"DRIVER-1-{place}", "affiliation": "Other"}]},
    ]
    rng.shuffle(changes)
    for change in changes:
        register_log = store.lock_head(open_register_log("ALDER"))
        append_changes(register_log, change, user="tests", now=world.at)
