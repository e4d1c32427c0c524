"""Amendments and keys over the database: the derived tables find again what hangs together."""

from __future__ import annotations

import base64

import pytest

from custody import store
from custody.clock import now
from custody.models.log import LogKind
from custody.projections.apply import derive_log
from custody.projections.compare import list_differences
from custody.registers import get_register, open_register_log
from custody.services.append_changes import append_changes
from tests.world import World, party, signer_of
from tests.worlds_on_record import put_deeds, put_register

CREW = party("poll_chief", "CHIEF-P01", "WORKER-1-P01", site="P01")


@pytest.fixture
def world() -> World:
    world = World(places=1)
    world.at = world.time("12:00")
    return world


def make_log(world: World) -> store.LogHead:
    put_register(world)
    return store.make_log("ALDER", "main", LogKind.MAIN)


@pytest.mark.django_db
def test_an_entry_is_amended_by_what_was_aimed_at_it_long_before(world: World) -> None:
    wrong, right = (world.count("P01", CREW, {"ballots_cast": number}) for number in (100, 200))
    first = world.amend(wrong, CREW, {"site": ""})
    world.amend(first, CREW, {"amends": right.id})
    world.amend(right, CREW, {"note": "read again"})
    log = make_log(world)
    for deed in world.lines():
        put_deeds(log, [deed])
    book = derive_log(log, world.register)
    assert book.effective(right.id).amended_by == (first.id, world.log[-1].id)
    assert list_differences(log, book) == []


@pytest.mark.django_db
def test_a_key_of_somebody_not_named_is_looked_at_again_when_it_changes(world: World) -> None:
    deed = world.count("P01", CREW, {"ballots_cast": 100}, signed_by=["CHIEF-P01", "WORKER-1-P01", "OFFICE-1"])
    log = make_log(world)
    put_deeds(log, [deed])
    signer = signer_of("OFFICE-1")
    public_key = base64.b64encode(signer.public_key).decode()
    row = {"person": "OFFICE-1", "public_key": public_key, "revoked_at": "2026-11-01T00:00:00Z"}
    append_changes(open_register_log("ALDER"), {"keys": [row]}, user="tests", now=now())
    book = derive_log(log, get_register("ALDER"))
    assert [each.key for each in book.findings[f"entry:{deed.id}"]] == [f"key-not-valid/{deed.id}:{signer.keyid}"]
    assert list_differences(log, book) == []
