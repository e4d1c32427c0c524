"""The register: what rows of its log make of it."""

from __future__ import annotations

import base64
from typing import Any

import pytest

from custody.domain.instants import parse_instant
from custody.domain.register import REGISTER_TABLES, Register, row_key
from custody.domain.vocabulary import ItemKind, Role, SiteKind
from custody.ledger.signing import Signer, keyid

SIGNER = Signer(b"\1" * 32)
KEY = {"person": "ANN", "public_key": base64.b64encode(SIGNER.public_key).decode()}
ELECTION = {
    "code": "GEN26",
    "name": "General",
    "date": "2026-11-03",
    "timezone": "America/Chicago",
    "polls_open": "2026-11-03T07:00",
    "polls_close": "2026-11-03T19:00",
    "return_deadline": "2026-11-03T23:30",
}
LOT = {"maker": "Arnby", "lot": "L1", "prefix": "S", "first": 1, "last": 100, "width": 7}


def register_of(**tables: list[dict[str, Any]]) -> Register:
    register = Register()
    for table, rows in tables.items():
        register.apply(table, rows)
    return register


def test_the_schedule_of_an_election_is_in_its_own_time_zone() -> None:
    election = register_of(elections=[ELECTION]).elections["GEN26"]
    assert election.polls_open == parse_instant("2026-11-03T13:00:00Z")
    assert election.polls_close == parse_instant("2026-11-04T01:00:00Z")
    assert election.return_deadline == parse_instant("2026-11-04T05:30:00Z")


def test_a_row_replaces_the_row_of_the_same_code() -> None:
    register = register_of(
        sites=[{"code": "P01", "name": "Hall", "kind": "polling_place", "phone": "555-0101"}],
        items=[{"code": "KS00001D", "kind": "key_set", "opens": ["SC00001X", "SC00002V"]}],
    )
    register.apply("sites", [{"code": "P01", "name": "School", "kind": "warehouse"}])
    register.apply("items", [{"code": "KS00001D", "kind": "key_set", "opens": ["SC00002V"], "tag": "A-1"}])
    site = register.sites["P01"]
    assert (site.name, site.kind, site.phone, site.is_storage) == ("School", SiteKind.WAREHOUSE, "", True)
    assert (register.items["KS00001D"].kind, register.items["KS00001D"].tag) == (ItemKind.KEY_SET, "A-1")
    assert register.openers == {"SC00001X": set(), "SC00002V": {"KS00001D"}}


def test_a_key_has_its_owner_and_limits() -> None:
    row = {**KEY, "valid_from": "2026-10-01T00:00:00Z", "revoked_at": "2026-11-03T18:00:00Z"}
    register = register_of(keys=[row])
    key = register.keys[keyid(SIGNER.public_key)]
    assert (key.public_key, key.valid_until) == (SIGNER.public_key, None)
    assert (key.valid_from, key.revoked_at) == tuple(parse_instant(row[name]) for name in ("valid_from", "revoked_at"))
    assert (register.owner(key.keyid), register.owner("00")) == ("ANN", None)


def test_an_assignment_stands_with_its_site_or_none_until_it_is_retired() -> None:
    chief = {"election": "GEN26", "person": "ANN", "role": "poll_chief", "site": "P01"}
    courier = {"election": "GEN26", "person": "BOB", "role": "courier"}
    register = register_of(assignments=[chief, courier])
    assert register.roles == {
        ("GEN26", "ANN"): {(Role.POLL_CHIEF, "P01")},
        ("GEN26", "BOB"): {(Role.COURIER, "")},
    }
    assert register.desks["GEN26", Role.POLL_CHIEF, "P01"] == {"ANN"}
    register.apply("assignments", [{**chief, "retired": True}])
    assert register.roles["GEN26", "ANN"] == set()
    assert register.desks["GEN26", Role.POLL_CHIEF, "P01"] == set()


def test_a_seal_number_is_found_in_its_lot_by_prefix_width_and_range() -> None:
    register = register_of(seal_lots=[LOT, {**LOT, "maker": "Birch", "first": 90, "last": 120}])

    def makers(number: str, maker: str | None = None) -> list[str]:
        return [lot.maker for lot in register.lots_with(number, maker)]

    assert makers("S0000001") == ["Arnby"]
    assert makers("S0000100") == ["Arnby", "Birch"]
    assert makers("S0000100", "Birch") == ["Birch"]
    assert (makers("S0000121"), makers("S000001"), makers("T0000001"), makers("S0000000")) == ([], [], [], [])
    assert (register.maker_of("S0000001", None), register.maker_of("S0000100", None)) == ("Arnby", None)
    assert register.maker_of("S0000100", "Birch") == "Birch"


def test_a_lot_may_be_split_between_places_and_a_part_withdrawn() -> None:
    second = {**LOT, "first": 51, "issued_to": "P02"}
    register = register_of(seal_lots=[{**LOT, "last": 50, "issued_to": "P01"}, second])
    assert [register.lots_with(number)[0].issued_to for number in ("S0000050", "S0000051")] == ["P01", "P02"]
    register.apply("seal_lots", [{**second, "retired": True}])
    assert (register.lots_with("S0000051"), len(register.lots)) == ([], 1)


def test_a_prefix_that_ends_in_digits_is_part_of_the_number() -> None:
    register = register_of(seal_lots=[{**LOT, "prefix": "S2", "width": 3, "first": 1, "last": 9}])
    assert [lot.lot for lot in register.lots_with("S2005")] == ["L1"]
    assert register.lots_with("S3005") == []


def test_an_item_is_in_one_kit_of_an_election() -> None:
    row = {"election": "GEN26", "site": "P01", "item": "SC00001X"}
    register = register_of(kits=[row, {**row, "election": "RUN26"}])
    register.apply("kits", [{**row, "site": "P02"}])
    assert register.kits == {("GEN26", "P01"): set(), ("RUN26", "P01"): {"SC00001X"}, ("GEN26", "P02"): {"SC00001X"}}
    assert register.kit_site == {("GEN26", "SC00001X"): "P02", ("RUN26", "SC00001X"): "P01"}
    register.apply("kits", [{**row, "site": "P02", "retired": True}])
    assert (register.kits["GEN26", "P02"], list(register.kit_site)) == (set(), [("RUN26", "SC00001X")])


def test_the_policy_in_force_is_that_of_the_moment() -> None:
    def version(valid_from: str, number: int) -> dict[str, Any]:
        return {"valid_from": valid_from, "document": {"people": {"controlled": number}}}

    register = register_of(policy=[version("2026-11-01T00:00:00Z", 3), version("2026-10-01T00:00:00Z", 4)])
    register.apply("policy", [version("2026-11-01T00:00:00Z", 5)])
    november = parse_instant("2026-11-01T00:00:00Z")
    october = parse_instant("2026-10-01T00:00:00Z")
    at = [register.policies.at(moment).people_controlled for moment in (october - 1, october, november - 1, november)]
    assert at == [2, 4, 4, 5]


def test_a_copy_goes_on_by_itself() -> None:
    kit = {"election": "GEN26", "site": "P01", "item": "SC00001X"}
    register = register_of(elections=[ELECTION], keys=[KEY], seal_lots=[LOT], kits=[kit])
    twin = register.copy()
    assert twin == register
    twin.apply("seal_lots", [{**LOT, "lot": "L2", "first": 200, "last": 300}])
    twin.apply("kits", [{**kit, "item": "SC00002V"}])
    twin.apply("people", [{"code": "ANN"}])
    assert (len(register.lots_with("S0000200")), len(twin.lots_with("S0000200"))) == (0, 1)
    assert (register.kits["GEN26", "P01"], register.people) == ({"SC00001X"}, {})
    assert register == register_of(elections=[ELECTION], keys=[KEY], seal_lots=[LOT], kits=[kit])


def test_every_table_has_a_key_and_no_other_table_is_known() -> None:
    assert {len(row_key(table, {})) for table in REGISTER_TABLES} == {1, 2, 4}
    assert row_key("assignments", {"election": "E", "person": "P", "role": "courier"}) == ("E", "P", "courier", "")
    with pytest.raises(ValueError, match="no table 'voters'"):
        Register().apply("voters", [])
