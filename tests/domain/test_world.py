"""The invented county is what it claims to be: its days are correct, its bytes those of the record, its rows load."""

from __future__ import annotations

from pathlib import Path

from custody.domain.labels import parse_code
from custody.domain.register import KEY_MEMBERS
from custody.ledger.canonical import parse_canonical
from custody.ledger.envelope import parse_envelope, verify_envelope
from tests.world import World, findings_of, register_from
from tests.world_random import chance, random_world
from tests.world_register import CSV_COLUMNS


def clean_world(places: int = 2) -> World:
    world = World(places=places)
    for place in world.places:
        world.clean_day(place)
    return world


def test_a_correct_day_gives_no_finding_when_all_limits_have_passed() -> None:
    world = clean_world()
    assert {deed.entry.kind for deed in world.log} >= {"handoff", "seal", "unseal", "pack", "unpack", "count", "step"}
    assert [finding.key for finding in findings_of(world)] == []


def test_a_correct_day_gives_no_finding_on_the_way_either() -> None:
    world = clean_world(places=1)
    found = {
        deed.at: keys
        for deed in world.log[::4]
        if (keys := [finding.key for finding in findings_of(world, now=deed.at)])
    }
    assert found == {}


def test_no_two_entries_have_the_same_id_and_two_worlds_write_the_same_bytes() -> None:
    first, second = clean_world(), clean_world()
    assert len({deed.id for deed in first.log}) == len(first.log) > 100
    assert [deed.line() for deed in first.log[:20]] == [deed.line() for deed in second.log[:20]]


def test_every_line_verifies_with_the_keys_of_the_register() -> None:
    world = random_world(chance(1), places=1, acts=10)
    keys = {keyid: key.public_key for keyid, key in world.register.keys.items()}
    for deed in world.log:
        envelope = parse_envelope(deed.envelope())
        verify_envelope(envelope, keys)
        assert parse_canonical(envelope.payload) == deed.payload


def test_later_signatures_join_those_of_the_first_line() -> None:
    world = World(places=1)
    kit = world.prepare("P01")
    deed = world.inspect([kit.stock, (kit.stock, "lid")], world.chief("P01"), signed_by=["CHIEF-P01"])
    later = world.sign_later(deed, "WORKER-1-P01", "CHIEF-P01", received=deed.received + 60)
    before, after = (each for each in world.arrivals() if each.id == deed.id)
    assert [each.received for each in before.signatures] == [deed.received]
    assert sorted(each.received for each in after.signatures) == [deed.received, later.received]
    assert (before.seq, before.received) == (after.seq, after.received)


def test_the_rows_give_the_register_back_whatever_order_of_tables_they_came_in() -> None:
    world = World(places=3)
    assert register_from(world.changes) == world.register
    assert set(world.rows) == KEY_MEMBERS.keys() - {"policy"}


def test_every_item_has_a_code_that_checks(tmp_path: Path) -> None:
    world = World(places=3)
    assert {parse_code(code)[0] for code in world.register.items} == {
        item.kind for item in world.register.items.values()
    }
    world.write_csv(tmp_path)
    assert {path.stem for path in tmp_path.iterdir()} == set(CSV_COLUMNS)
    assert len((tmp_path / "items.csv").read_text().splitlines()) == 1 + len(world.register.items)


def test_bad_days_hold_every_kind_of_entry_and_come_out_the_same_again() -> None:
    kinds: set[str] = set()
    for seed in range(6):
        one, other = (random_world(chance(seed), places=1, acts=12) for _ in range(2))
        assert [deed.payload for deed in one.log] == [deed.payload for deed in other.log]
        kinds.update(deed.entry.kind for deed in one.log)
    assert len(kinds) == 15
