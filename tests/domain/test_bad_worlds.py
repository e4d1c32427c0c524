"""Worlds that nobody meant: numbers like dots, parties of nobody, limits beyond the calendar. The rules never raise for them."""

from __future__ import annotations

from itertools import pairwise

import pytest

from custody.domain.book import derive
from custody.domain.views import View
from custody.domain.vocabulary import ItemKind
from tests.domain.rule_checks import keys, one
from tests.world import World, party, reading

PLACE = "P01"


@pytest.mark.parametrize("number", ["..", "S5..S1", "A..B", "S0000001..S0000002"])
def test_seal_number_written_like_a_range_is_a_number_that_no_lot_has(number: str) -> None:
    world = World(places=1)
    kit = world.until(PLACE, "open_polls")
    deed = world.seal([reading(kit.case, "latch", number)], world.chief(PLACE))
    assert keys(world, "seal-unknown") == [f"seal-unknown/{deed.id}:{number}"]


def test_courier_party_of_nobody_holds_no_key_beside_its_lock() -> None:
    world = World(places=1)
    kit = world.until(PLACE, "pack_for_return")
    deed = world.handoff([kit.keys, kit.case], world.chief(PLACE), party("courier"), "return")
    assert keys(world, "key-with-lock") == []
    assert f"end-unsigned/{deed.id}:receive" in keys(world, "end-unsigned")


def test_retention_beyond_the_calendar_ends_with_it() -> None:
    world = World(places=1)
    kit = world.until(PLACE, "store")
    world.set_policy({"retention": {"months": 999_999}})
    world.dispose([kit.case], world.party("vault_custodian"))
    assert one(world, "disposed-early").params["until"] == "9999-12-31"


def test_envelopes_in_envelopes_are_looked_into_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Asked level by level, forty envelopes in one another would take 2 ** 40 looks; the innermost holds a count."""
    world = World(places=1)
    world.until(PLACE, "prepare")
    clerks = world.party("warehouse_clerk")
    envelopes = [world.add_item("envelope") for _ in range(40)]
    for inner, outer in pairwise(envelopes):
        world.pack(outer, [inner], clerks)
    world.count(envelopes[0], clerks, {"ballots_in_container": 1})
    lone = world.party("warehouse_clerk", people=1)
    deed = world.seal([reading(envelopes[-1], "flap", "S9000100")], lone)
    looks, kind = 0, View.kind

    def counting(view: View, code: str) -> ItemKind | None:
        nonlocal looks
        looks += 1
        assert looks < 200_000
        return kind(view, code)

    monkeypatch.setattr(View, "kind", counting)
    findings = [each for listed in derive(world.recorded(), world.register).findings.values() for each in listed]
    assert [each.key for each in findings if each.rule == "lone-custodian"] == [f"lone-custodian/{deed.id}:by"]
