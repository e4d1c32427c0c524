"""Loading the register: what stands on the log afterwards, what is refused and how it is said, and what changes nothing."""

from __future__ import annotations

import base64
import csv
import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from custody import register_tables, registers, store
from custody.domain.register import Register
from custody.domain.vocabulary import Role
from custody.errors import CustodyError
from custody.ledger.signing import SMALL_ORDER, Signer, keyid
from custody.ledger.tiles import MAX_ENTRY_BYTES
from custody.masterdata.drafts import TABLES, columns_of
from custody.models import register as tables
from custody.services.load_register import LoadReport, load_register

NOW = 1_793_880_000  # 2026-11-05T12:00:00Z
USER = "u-1"


def public_key(number: int) -> str:
    return base64.b64encode(Signer(bytes([number]) * 32).public_key).decode()


Files = dict[str, list[dict[str, str]]]


def county() -> Files:
    """The files of a small county, every table among them; rows by column, empty cells left out."""
    schedule = {"polls_open": "2026-11-03T07:00", "polls_close": "2026-11-03T19:00"}
    return {
        "jurisdictions": [{"code": "ALDER", "name": "Alder County", "timezone": "America/Chicago"}],
        "elections": [
            {
                "jurisdiction": "ALDER",
                "code": "GEN26",
                "name": "General election",
                "date": "2026-11-03",
                "timezone": "America/Chicago",
                "return_deadline": "2026-11-04T01:00",
                **schedule,
            }
        ],
        "sites": [
            {"jurisdiction": "ALDER", "code": "WH", "name": "Warehouse", "kind": "warehouse", "address": "1 Mill Lane"},
            {"jurisdiction": "ALDER", "code": "P01", "name": "Hall", "kind": "polling_place", "phone": "555-0101"},
            {"jurisdiction": "ALDER", "code": "P02", "name": "School", "kind": "polling_place"},
        ],
        "people": [
            {
                "jurisdiction": "ALDER",
                "code": "ANN",
                "name": "Ann Lark",
                "phone": "555-0111",
                "affiliation": "Lark",
                "public_key": public_key(1),
            },
            {"jurisdiction": "ALDER", "code": "BOB", "name": "Bob Wren"},
        ],
        "keys": [
            {
                "jurisdiction": "ALDER",
                "person": "BOB",
                "public_key": public_key(2),
                "valid_from": "2026-10-01T00:00:00Z",
            }
        ],
        "items": [
            {
                "jurisdiction": "ALDER",
                "code": "SC00001D",
                "kind": "scanner",
                "serial": "S-1",
                "tag": "A-1",
                "home_site": "WH",
                "seal_points": "bin;memory",
            },
            {"jurisdiction": "ALDER", "code": "KS00001D", "kind": "key_set", "opens": "SC00001D"},
            {"jurisdiction": "ALDER", "kind": "ballot_container", "serial": "B-1", "seal_points": "lid"},
            {"jurisdiction": "ALDER", "kind": "envelope", "description": "memory envelope"},
            {"jurisdiction": "ALDER", "kind": "envelope", "description": "memory envelope"},
        ],
        "assignments": [
            {"election": "GEN26", "person": "ANN", "role": "poll_chief", "site": "P01"},
            {"election": "GEN26", "person": "BOB", "role": "courier"},
        ],
        "seal_lots": [
            lot("L1", 1, 50, issued_to="P01", election="GEN26"),
            lot("L1", 51, 100, issued_to="P02", election="GEN26"),
        ],
        "kits": [{"election": "GEN26", "site": "P01", "item": "SC00001D"}],
    }


def lot(name: str, first: int, last: int, **more: str) -> dict[str, str]:
    row = {"jurisdiction": "ALDER", "maker": "Arnby", "class": "S", "lot": name, "prefix": "S", "width": "7"}
    return {**row, "first": str(first), "last": str(last), **more}


def write(folder: Path, files: Mapping[str, list[dict[str, str]]]) -> None:
    folder.mkdir(exist_ok=True)
    for path in folder.iterdir():
        path.unlink()
    for table, rows in files.items():
        with (folder / f"{table}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, columns_of(table), restval="")
            writer.writeheader()
            writer.writerows(rows)


@pytest.fixture
def load(db: None, tmp_path: Path) -> Callable[..., LoadReport]:
    """Load files; afterwards the tables must be what the log says, whatever happened."""

    def run(files: Mapping[str, list[dict[str, str]]], *, dry_run: bool = False, now: int = NOW) -> LoadReport:
        write(tmp_path / "csv", files)
        report = load_register(tmp_path / "csv", user=USER, now=now, dry_run=dry_run)
        for log in registers.list_register_logs():
            assert register_tables.compare_register(log.jurisdiction) == []
            assert register_tables.compare_personal_values(log.jurisdiction) == []
        return report

    return run


Load = Callable[..., LoadReport]


def counts(report: LoadReport) -> dict[str, tuple[int, int, int, int]]:
    assert report.problems == ()
    return {row.table: (row.new, row.changed, row.unchanged, row.withdrawn) for row in report.tables}


def problems(report: LoadReport) -> list[tuple[str, int, str, str]]:
    return [(one.file, one.line, one.column, one.reason) for one in report.problems]


def lines() -> list[dict[str, Any]]:
    return [line.content() for line in store.read_lines(store.open_log("ALDER", "register"))]


def rows_on_log(table: str) -> list[dict[str, Any]]:
    return [row for line in lines() if line["change"]["table"] == table for row in line["change"]["rows"]]


def test_a_county_is_on_the_register_once_loaded(load: Load) -> None:
    report = load(county())
    assert counts(report) == {
        "jurisdictions": (1, 0, 0, 0),
        "elections": (1, 0, 0, 0),
        "sites": (3, 0, 0, 0),
        "people": (2, 0, 0, 0),
        "keys": (2, 0, 0, 0),
        "items": (5, 0, 0, 0),
        "assignments": (2, 0, 0, 0),
        "seal_lots": (2, 0, 0, 0),
        "kits": (1, 0, 0, 0),
    }
    assert [(one.line, one.code) for one in report.issued] == [(4, "BC000016"), (5, "EN00001S"), (6, "EN00002Q")]
    register = registers.get_register("ALDER")
    assert set(register.sites) == {"WH", "P01", "P02"}
    assert register.people["ANN"].affiliation == "Lark"
    assert register.owner(keyid(Signer(b"\1" * 32).public_key)) == "ANN"
    assert register.keys[keyid(Signer(b"\2" * 32).public_key)].valid_from == 1_790_812_800
    assert register.items["SC00001D"].seal_points == ("bin", "memory")
    assert register.openers["SC00001D"] == {"KS00001D"}
    assert register.roles["GEN26", "BOB"] == {(Role.COURIER, "")}
    assert [found.issued_to for found in register.lots_with("S0000051")] == ["P02"]
    assert register.kit_site == {("GEN26", "SC00001D"): "P01"}
    assert {log.path for log in store.list_logs()} == {"ALDER/main", "ALDER/register"}


def test_lines_of_the_log_hold_whole_rows_in_the_order_in_which_they_refer_to_one_another(load: Load) -> None:
    report = load(county())
    found = lines()
    assert [line["change"]["table"] for line in found] == list(TABLES)
    assert (report.lines, {line["user"] for line in found}) == (9, {USER})
    assert {line["received"] for line in found} == {"2026-11-05T12:00:00Z"}
    assert rows_on_log("sites")[1] == {"code": "P01", "name": "Hall", "kind": "polling_place", "phone": "555-0101"}
    assert rows_on_log("kits") == [{"election": "GEN26", "site": "P01", "item": "SC00001D"}]


def test_the_same_files_again_change_nothing(load: Load) -> None:
    load(county())
    before = lines()
    report = load(county(), now=NOW + 60)
    assert {(new, changed, withdrawn) for new, changed, _, withdrawn in counts(report).values()} == {(0, 0, 0)}
    assert (report.lines, report.issued, lines()) == (0, (), before)


def test_only_rows_that_changed_are_written(load: Load) -> None:
    load(county())
    files = county()
    files["sites"][1]["name"] = "Old Hall"
    files["sites"].append({"jurisdiction": "ALDER", "code": "P03", "name": "Barn", "kind": "polling_place"})
    assert counts(load({"sites": files["sites"]})) == {"sites": (1, 1, 2, 0)}
    (change,) = [line["change"] for line in lines()[9:]]
    assert [row["code"] for row in change["rows"]] == ["P01", "P03"]
    assert registers.get_register("ALDER").sites["P01"].name == "Old Hall"


def test_a_dry_run_tells_the_same_and_writes_nothing(load: Load) -> None:
    dry = load(county(), dry_run=True)
    assert (store.list_logs(), tables.PersonalValue.objects.count()) == ([], 0)
    wet = load(county())
    assert (counts(dry), dry.issued, dry.lines) == (counts(wet), wet.issued, 0)
    files = county()
    files["sites"][1]["name"] = "Old Hall"
    assert counts(load(files, dry_run=True))["sites"] == (0, 1, 2, 0)
    assert registers.get_register("ALDER").sites["P01"].name == "Hall"


def test_names_and_phones_are_on_the_log_as_commitments_only(load: Load) -> None:
    load(county())
    text = json.dumps(lines())
    for secret in ("Ann Lark", "Bob Wren", "555-0111"):
        assert secret not in text
    ann, bob = rows_on_log("people")
    kept = {
        (one.person, one.field): (one.value, bytes(one.salt))
        for one in tables.PersonalValue.objects.filter(jurisdiction="ALDER")
    }
    assert {key: value for key, (value, _) in kept.items()} == {
        ("ANN", "name"): "Ann Lark",
        ("ANN", "phone"): "555-0111",
        ("BOB", "name"): "Bob Wren",
    }
    assert ann["name_commitment"] == register_tables.commitment(*kept["ANN", "name"])
    assert ann["phone_commitment"] == register_tables.commitment(*kept["ANN", "phone"])
    assert sorted(ann) == ["affiliation", "code", "name_commitment", "phone_commitment"]
    assert sorted(bob) == ["code", "name_commitment"]
    assert {len(salt) for _, salt in kept.values()} == {16}
    assert len({salt for _, salt in kept.values()}) == 3


def test_a_commitment_is_sha_256_over_salt_and_value() -> None:
    """FIPS 180-4, example "abc" of its test vectors: here the salt is "a" and the value "bc"."""
    expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert register_tables.commitment("bc", b"a") == expected


def test_a_changed_name_gets_a_new_salt_and_an_unchanged_one_keeps_its_own(load: Load) -> None:
    load(county())
    before = rows_on_log("people")[0]
    files = county()
    files["people"][0]["name"] = "Ann Lark-Finch"
    assert counts(load(files))["people"] == (0, 1, 1, 0)
    after = rows_on_log("people")[-1]
    assert after["phone_commitment"] == before["phone_commitment"]
    assert after["name_commitment"] != before["name_commitment"]
    assert tables.PersonalValue.objects.get(person="ANN", field="name").value == "Ann Lark-Finch"


def test_a_phone_number_that_is_no_longer_given_is_erased(load: Load) -> None:
    load(county())
    files = county()
    del files["people"][0]["phone"]
    load(files)
    assert "phone_commitment" not in rows_on_log("people")[-1]
    assert list(tables.PersonalValue.objects.filter(person="ANN").values_list("field", flat=True)) == ["name"]


def test_an_erased_value_stays_erased_on_rebuild_and_is_committed_to_anew_when_given_again(load: Load) -> None:
    load(county())
    register_tables.erase_personal_values("ALDER", [("ANN", "name")])
    register_tables.rebuild_register("ALDER")
    assert register_tables.compare_personal_values("ALDER") == []
    assert not tables.PersonalValue.objects.filter(person="ANN", field="name").exists()
    assert counts(load(county()))["people"] == (0, 1, 1, 0)
    first, _, again = rows_on_log("people")
    assert first["name_commitment"] != again["name_commitment"]


def test_rebuilt_tables_are_those_that_were(load: Load) -> None:
    load(county())
    files = county()
    files["sites"][1]["name"] = "Old Hall"
    load(files)
    models = [getattr(tables, name) for name in ("Jurisdiction", "Site", "Person", "Key", "Item", "Assignment")]

    def snapshot() -> list[list[dict[str, Any]]]:
        fields = [[f.name for f in model._meta.fields if f.name != "id"] for model in models]
        return [list(model.objects.order_by("pk").values(*names)) for model, names in zip(models, fields, strict=True)]

    before = snapshot()
    assert [len(rows) for rows in before] == [1, 3, 2, 2, 5, 2]
    tables.Site.objects.filter(code="P01").update(name="Tampered")
    tables.Item.objects.filter(code="SC00001D").delete()
    assert register_tables.compare_register("ALDER") == ["items SC00001D", "sites P01"]
    register_tables.rebuild_register("ALDER")
    assert [sorted(map(str, rows)) for rows in snapshot()] == [sorted(map(str, rows)) for rows in before]


def test_a_table_row_shows_by_which_line_it_was_set(load: Load) -> None:
    load(county())
    files = county()
    files["sites"][1]["name"] = "Old Hall"
    load(files)
    assert dict(tables.Site.objects.values_list("code", "line")) == {"WH": 2, "P01": 9, "P02": 2}


def test_many_rows_are_spread_over_lines_that_fit(load: Load) -> None:
    files = county()
    address = "ö" * 500
    for number in range(300):
        code = f"X{number:03}"
        row = {"jurisdiction": "ALDER", "code": code, "name": code, "kind": "drop_box", "address": address}
        files["sites"].append(row)
    load(files)
    bodies = [line.body for line in store.read_lines(store.open_log("ALDER", "register"))]
    sites = [len(body) for body in bodies if b'"table":"sites"' in body]
    assert len(sites) == 5
    assert max(sites) <= MAX_ENTRY_BYTES
    assert len(registers.get_register("ALDER").sites) == 303


# Keys


def test_a_row_of_its_own_replaces_the_key_beside_the_person(load: Load) -> None:
    files = county()
    limits = {"valid_until": "2026-12-01T00:00:00Z"}
    files["keys"].append({"jurisdiction": "ALDER", "person": "ANN", "public_key": public_key(1), **limits})
    assert counts(load(files))["keys"] == (2, 0, 0, 0)
    ours = keyid(Signer(b"\1" * 32).public_key)
    assert registers.get_register("ALDER").keys[ours].valid_until == 1_796_083_200
    del files["keys"]  # the short form alone takes no limits away
    assert load(files).lines == 0
    assert registers.get_register("ALDER").keys[ours].valid_until == 1_796_083_200


def test_a_new_key_beside_the_person_is_added_and_the_old_one_stays(load: Load) -> None:
    load(county())
    files = county()
    files["people"][0]["public_key"] = public_key(3)
    assert counts(load({"people": files["people"]}))["keys"] == (1, 0, 0, 0)
    owners = {key.public_key: key.person for key in registers.get_register("ALDER").keys.values()}
    assert owners == {
        Signer(bytes([number]) * 32).public_key: person for number, person in ((1, "ANN"), (2, "BOB"), (3, "ANN"))
    }


def test_a_key_of_somebody_else_is_refused(load: Load) -> None:
    load(county())
    files = county()
    files["people"][1]["public_key"] = public_key(1)
    files["keys"] = [{"jurisdiction": "ALDER", "person": "ANN", "public_key": public_key(2)}]
    reason = "is the key of {}, and a key belongs to one person only"
    assert problems(load({"people": files["people"], "keys": files["keys"]})) == [
        ("people.csv", 3, "public_key", reason.format("ANN")),
        ("keys.csv", 2, "public_key", reason.format("BOB")),
    ]


def test_two_people_of_one_file_cannot_share_a_key(load: Load) -> None:
    files = county()
    files["people"][1]["public_key"] = public_key(1)
    reason = "is the key of another person in line 2 of people.csv; a key belongs to one person only"
    assert problems(load(files)) == [("people.csv", 3, "public_key", reason)]


def test_keys_that_anybody_can_sign_for_are_refused(load: Load) -> None:
    files = county()
    weak = [base64.b64encode(key).decode() for key in sorted(SMALL_ORDER)]
    files["keys"] += [{"jurisdiction": "ALDER", "person": "BOB", "public_key": key} for key in weak]
    found = problems(load(files))
    assert [(file, line, column) for file, line, column, _ in found] == [
        ("keys.csv", line, "public_key") for line in range(3, 17)
    ]
    assert {reason.split(":")[0] for *_, reason in found} == {"is a key that must not be used"}


# Items


def test_rows_without_a_code_find_their_item_again(load: Load) -> None:
    load(county())
    files = county()
    files["items"][2] |= {"description": "grey", "tag": "A-2"}
    files["items"] += [{"jurisdiction": "ALDER", "kind": "envelope", "description": "memory envelope"}]
    report = load(files)
    assert counts(report)["items"] == (1, 1, 4, 0)
    assert [(one.line, one.code) for one in report.issued] == [(7, "EN00004M")]
    container = registers.get_register("ALDER").items["BC000016"]
    assert (container.serial, container.tag, container.description) == ("B-1", "A-2", "grey")
    by_tag = {"jurisdiction": "ALDER", "kind": "ballot_container", "tag": "A-2", "serial": "B-1-NEW"}
    assert counts(load({"items": [by_tag]}))["items"] == (0, 1, 0, 0)
    assert registers.get_register("ALDER").items["BC000016"].serial == "B-1-NEW"


def test_a_code_that_was_used_is_not_issued_again_and_some_never_are(load: Load) -> None:
    files = county()
    row = {"jurisdiction": "ALDER", "kind": "key_set"}
    files["items"] += [{**row, "code": "KS000071"}, {**row, "serial": "K-1"}]
    assert [one.code for one in load(files).issued][-1] == "KS00009Y"  # the check character of serial 8 would be `*`


def test_codes_are_issued_apart_from_those_of_other_jurisdictions(load: Load) -> None:
    load(county())
    birch = {"code": "BIRCH", "name": "Birch County", "timezone": "America/Chicago"}
    items = [{"jurisdiction": "BIRCH", "kind": "envelope"}]
    assert [one.code for one in load({"jurisdictions": [birch], "items": items}).issued] == ["EN00004M"]


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        (
            [{"code": "SC00001D", "kind": "key_set"}],
            [(2, "code", "SC00001D is the code of a scanner; codes of a key_set begin with KS")],
        ),
        ([{"code": "SC00001X", "kind": "scanner"}], [(2, "code", "“SC00001X” is not an item code: its kind or")]),
        ([{"code": "sc-00001d", "kind": "scanner"}], [(2, "code", "write the item code as on its label, SC00001D")]),
        ([{"code": "SC1", "kind": "scanner"}], [(2, "code", "“SC1” is not an item code: eight characters")]),
        ([{"kind": "voting_machine"}], [(2, "kind", "“voting_machine” is not one of: ballot_container, ")]),
        ([{"kind": "scanner", "home_site": "P09"}], [(2, "home_site", "there is no site P09 in ALDER")]),
        ([{"kind": "key_set", "opens": "SC00002B"}], [(2, "opens", "there is no item SC00002B in ALDER")]),
        ([{"kind": "scanner", "opens": "SC00001D"}], [(2, "opens", "only a key_set opens anything")]),
        ([{"kind": "scanner", "seal_points": "bin;bin"}], [(2, "seal_points", "names “bin” twice")]),
        ([{"kind": "scanner", "seal_points": "bin;"}], [(2, "seal_points", "has an empty part")]),
        (
            [{"code": "SC00001D", "kind": "scanner"}, {"code": "SC00001D", "kind": "scanner"}],
            [(3, "code", "the same stands in line 2 of items.csv already")],
        ),
        (
            [{"code": "SC00001D", "kind": "scanner"}, {"kind": "scanner", "serial": "S-1"}],
            [(3, "code", "is the item SC00001D, which stands in line 2")],
        ),
        (
            [{"kind": "scanner", "serial": "S-9"}, {"kind": "scanner", "serial": "S-9"}],
            [(3, "serial", "the same serial number stands in line 2")],
        ),
        ([{"kind": "pollbook", "tag": "A-1"}], [(2, "kind", "the tag is that of SC00001D, which is a scanner")]),
        (
            [{"kind": "pollbook", "tag": "A-7"}, {"kind": "scanner", "tag": "A-7"}],
            [(3, "tag", "is the tag of the item in line 2 already")],
        ),
        (
            [{"code": "SC00002B", "kind": "scanner", "tag": "A-1"}],
            [(2, "tag", "is the tag of the item SC00001D already")],
        ),
        ([{"kind": "scanner", "tag": "bc000016"}], [(2, "tag", "reads as an item code")]),
    ],
)
def test_a_bad_item_is_told(load: Load, rows: list[dict[str, str]], expected: list[tuple[int, str, str]]) -> None:
    load(county())
    before = lines()
    found = problems(load({"items": [{"jurisdiction": "ALDER", **row} for row in rows]}))
    assert [(line, column) for _, line, column, _ in found] == [(line, column) for line, column, _ in expected]
    assert all(reason.startswith(start) for (*_, reason), (*_, start) in zip(found, expected, strict=True)), found
    assert lines() == before


# Seal lots


def test_a_lot_is_split_anew_and_its_old_parts_are_withdrawn(load: Load) -> None:
    load(county())
    parts = [lot("L1", 1, 30, issued_to="P01", election="GEN26"), lot("L1", 31, 100)]
    assert counts(load({"seal_lots": parts}))["seal_lots"] == (1, 1, 0, 1)
    register = registers.get_register("ALDER")
    assert [register.lots_with(f"S{number:07}")[0].issued_to for number in (30, 31, 51)] == ["P01", "", ""]
    assert len(register.lots) == 2
    assert counts(load({"seal_lots": [lot("L1", 1, 100)]}))["seal_lots"] == (0, 1, 0, 1)
    assert load({"seal_lots": [lot("L1", 1, 100)]}).lines == 0


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([lot("L2", 100, 120)], [(2, "first", "numbers of this maker are in the lot L1 already")]),
        ([{**lot("L2", 100, 120), "maker": "Birch"}], []),
        ([lot("L2", 101, 120)], []),
        ([{**lot("L2", 1, 100), "prefix": "T"}], []),
        ([{**lot("L2", 1, 100), "prefix": ""}], []),
        ([{**lot("L2", 1, 100), "width": "6"}], []),
        (
            [{**lot("L2", 0, 9), "prefix": "S0", "width": "6"}],
            [(2, "first", "numbers of this maker are in the lot L1")],
        ),
        ([lot("L2", 200, 300), lot("L3", 300, 400)], [(3, "first", "numbers of this maker stand in line 2 already")]),
        ([lot("L2", 300, 400), lot("L3", 200, 500)], [(3, "first", "numbers of this maker stand in line 2 already")]),
        ([lot("L1", 1, 60), lot("L1", 50, 100)], [(3, "first", "numbers of this maker stand in line 2 already")]),
        ([lot("L2", 300, 299)], [(2, "last", "is smaller than the first number")]),
        ([{**lot("L2", 300, 1000), "width": "3"}], [(2, "width", "1000 has more digits than the width of 3")]),
        ([{**lot("L2", 300, 400), "width": "16"}], [(2, "width", "is not a number of digits from 1 to 15")]),
        ([{**lot("L2", 300, 400), "first": "3e2"}], [(2, "first", "“3e2” is not a whole number")]),
        ([{**lot("L2", 300, 400), "class": "X"}], [(2, "class", "“X” is not one of: I, S, H")]),
        ([lot("L2", 300, 400, issued_to="P01")], [(2, "election", "is empty, although")]),
        (
            [lot("L2", 300, 400, issued_to="P09", election="NONE")],
            [(2, "election", "there is no election NONE in ALDER"), (2, "issued_to", "there is no site P09 in ALDER")],
        ),
    ],
)
def test_a_bad_lot_is_told_and_a_good_one_loaded(
    load: Load, rows: list[dict[str, str]], expected: list[tuple[int, str, str]]
) -> None:
    load(county())
    report = load({"seal_lots": rows})
    found = problems(report)
    assert [(line, column) for _, line, column, _ in found] == [(line, column) for line, column, _ in expected]
    assert all(reason.startswith(start) for (*_, reason), (*_, start) in zip(found, expected, strict=True)), found
    assert report.lines == (0 if expected else 1)


# What is refused


def wrong(table: str, row: int, **cells: str) -> Callable[[Files], None]:
    def spoil(files: Files) -> None:
        files[table][row] |= cells

    return spoil


def doubled(table: str, **cells: str) -> Callable[[Files], None]:
    def spoil(files: Files) -> None:
        files[table].append({**files[table][0], **cells})

    return spoil


@pytest.mark.parametrize(
    ("spoil", "expected"),
    [
        (
            wrong("jurisdictions", 0, timezone="Chicago"),
            [("jurisdictions.csv", 2, "timezone", "“Chicago” is not a time")],
        ),
        (wrong("elections", 0, date="11/03/2026"), [("elections.csv", 2, "date", "“11/03/2026” is not a date of")]),
        (wrong("elections", 0, date="2026-11-31"), [("elections.csv", 2, "date", "“2026-11-31” is not a date of")]),
        (wrong("elections", 0, timezone=""), [("elections.csv", 2, "timezone", "is empty")]),
        (
            wrong("elections", 0, polls_close="2026-11-03T07:00"),
            [("elections.csv", 2, "polls_close", "comes before polls_open, and must be after it")],
        ),
        (
            wrong("elections", 0, return_deadline="2026-11-03T18:00"),
            [("elections.csv", 2, "return_deadline", "comes before polls_close, and must be after it")],
        ),
        (
            wrong("elections", 0, polls_open="2026-11-03 07:00"),
            [("elections.csv", 2, "polls_open", "“2026-11-03 07:00” is not a local time")],
        ),
        (doubled("sites", code="p03"), [("sites.csv", 5, "code", "“p03” is not a code: capital letters")]),
        (wrong("sites", 2, kind="church"), [("sites.csv", 4, "kind", "“church” is not one of: warehouse, ")]),
        (wrong("sites", 2, name=""), [("sites.csv", 4, "name", "is empty")]),
        (
            doubled("sites", code="P03", jurisdiction="BIRCH"),
            [("sites.csv", 5, "jurisdiction", "there is no jurisdiction BIRCH")],
        ),
        (doubled("sites"), [("sites.csv", 5, "code", "the same stands in line 2 of sites.csv already")]),
        (
            doubled("people", public_key=""),
            [("people.csv", 4, "code", "the same stands in line 2 of people.csv already")],
        ),
        (doubled("elections"), [("elections.csv", 3, "code", "the same stands in line 2 of elections.csv already")]),
        (
            doubled("jurisdictions"),
            [("jurisdictions.csv", 3, "code", "the same stands in line 2 of jurisdictions.csv")],
        ),
        (doubled("assignments"), [("assignments.csv", 4, "", "the same stands in line 2 of assignments.csv already")]),
        (doubled("keys"), [("keys.csv", 3, "public_key", "the same stands in line 2 of keys.csv already")]),
        (doubled("kits", site="P02"), [("kits.csv", 3, "", "the item stands in a kit of this election in line 2")]),
        (wrong("people", 0, public_key="AAAA"), [("people.csv", 2, "public_key", "is not the base64 of a public key")]),
        (wrong("keys", 0, person="EVE"), [("keys.csv", 2, "person", "there is no person EVE in ALDER")]),
        (
            wrong("keys", 0, valid_until="2026-09-30T23:59:59Z"),
            [("keys.csv", 2, "valid_until", "comes before valid_from, and must be after it")],
        ),
        (
            wrong("keys", 0, revoked_at="2026-11-03T12:00:00-05:00"),
            [("keys.csv", 2, "revoked_at", "“2026-11-03T12:00:00-05:00” is not a time in UTC")],
        ),
        (wrong("assignments", 0, election="NONE"), [("assignments.csv", 2, "election", "there is no election NONE")]),
        (wrong("assignments", 0, person="EVE"), [("assignments.csv", 2, "person", "there is no person EVE in ALDER")]),
        (wrong("assignments", 0, site="P09"), [("assignments.csv", 2, "site", "there is no site P09 in ALDER")]),
        (wrong("assignments", 0, role="mayor"), [("assignments.csv", 2, "role", "“mayor” is not one of: ")]),
        (wrong("kits", 0, site="P09"), [("kits.csv", 2, "site", "there is no site P09 in ALDER")]),
        (wrong("kits", 0, item="SC00002B"), [("kits.csv", 2, "item", "there is no item SC00002B in ALDER")]),
        (wrong("people", 0, name="x" * 1001), [("people.csv", 2, "name", "has 1001 characters; 1000 is the most")]),
    ],
)
def test_a_bad_row_is_told_by_file_line_column_and_reason_and_nothing_is_written(
    load: Load, spoil: Callable[[Files], None], expected: list[tuple[str, int, str, str]]
) -> None:
    files = county()
    spoil(files)
    report = load(files)
    found = problems(report)
    assert [one[:3] for one in found] == [one[:3] for one in expected]
    assert all(one[3].startswith(start[3]) for one, start in zip(found, expected, strict=True)), found
    assert (report.tables, report.issued, report.lines, store.list_logs()) == ((), (), 0, [])


def test_every_bad_row_is_told_in_the_order_of_the_files(load: Load) -> None:
    files = county()
    files["kits"][0]["site"] = "P09"
    files["sites"][2] |= {"kind": "church", "name": ""}
    files["people"][1]["code"] = "bob"
    found = problems(load(files))
    assert [one[:3] for one in found] == [
        ("sites.csv", 4, "kind"),
        ("sites.csv", 4, "name"),
        ("people.csv", 3, "code"),
        ("keys.csv", 2, "person"),
        ("assignments.csv", 3, "person"),
        ("kits.csv", 2, "site"),
    ]


def test_a_bad_row_does_not_make_those_bad_that_refer_to_it(load: Load) -> None:
    files = county()
    files["sites"][1]["kind"] = "church"
    files["elections"][0]["timezone"] = "Chicago"
    assert [one[:3] for one in problems(load(files))] == [("elections.csv", 2, "timezone"), ("sites.csv", 3, "kind")]


def test_elections_items_and_keys_stay_with_their_jurisdiction(load: Load) -> None:
    load(county())
    birch: Files = {
        "jurisdictions": [{"code": "BIRCH", "name": "Birch County", "timezone": "America/Chicago"}],
        "elections": [{**county()["elections"][0], "jurisdiction": "BIRCH"}],
        "sites": [{**county()["sites"][0], "jurisdiction": "BIRCH"}],
        "people": [{**county()["people"][0], "jurisdiction": "BIRCH"}],
        "items": [{"jurisdiction": "BIRCH", "code": "SC00001D", "kind": "scanner"}],
    }
    reason = "belongs to the jurisdiction ALDER and cannot be given to another"
    assert problems(load(birch)) == [
        ("elections.csv", 2, "code", reason),
        ("people.csv", 2, "public_key", reason),
        ("items.csv", 2, "code", reason),
    ]
    del birch["elections"], birch["items"], birch["people"][0]["public_key"]
    assert counts(load(birch)) == {"jurisdictions": (1, 0, 0, 0), "sites": (1, 0, 0, 0), "people": (1, 0, 0, 0)}
    assert registers.get_register("BIRCH").sites.keys() == {"WH"}
    assert tables.Site.objects.filter(code="WH").count() == 2


def test_an_unknown_file_is_told_with_those_that_are_known(load: Load, tmp_path: Path) -> None:
    write(tmp_path / "csv", county())
    (tmp_path / "csv" / "voters.csv").write_text("code\n")
    (tmp_path / "csv" / "notes.txt").write_text("not read")
    (found,) = problems(load_register(tmp_path / "csv", user=USER, now=NOW, dry_run=False))
    names = ", ".join(f"{table}.csv" for table in TABLES)
    assert found == ("voters.csv", 0, "", f"is not a file that is known here; the files are {names}")


def test_a_folder_without_files_is_bad_usage(db: None, tmp_path: Path) -> None:
    for folder in (tmp_path, tmp_path / "nowhere"):
        with pytest.raises(CustodyError) as caught:
            load_register(folder, user=USER, now=NOW, dry_run=False)
        assert caught.value.code == "no-csv-files"


# The command


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    """The exit code and what stands on stdout."""
    try:
        call_command("load_register", *arguments)
    except CommandError as error:
        return error.returncode, capsys.readouterr().out
    return 0, capsys.readouterr().out


def test_the_command_loads_and_tells_what_it_did(db: None, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(tmp_path / "csv", county())
    folder = str(tmp_path / "csv")
    code, out = run(capsys, folder, "--dry-run")
    assert (code, store.list_logs()) == (0, [])
    assert "│ sites" in out
    code, out = run(capsys, folder, "--format", "json")
    report = json.loads(out)
    assert (code, report["lines"], report["problems"]) == (0, 9, [])
    assert report["issued"][0] == {"line": 4, "code": "BC000016"}
    assert report["tables"][2] == {"table": "sites", "new": 3, "changed": 0, "unchanged": 0, "withdrawn": 0}
    assert {line["user"] for line in lines()} == {"command-line"}


def test_the_command_exits_1_on_bad_data_and_2_on_bad_usage(
    db: None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    files = county()
    files["sites"][1]["kind"] = "church"
    files["people"][0]["name"] = ""
    write(tmp_path / "csv", files)
    code, out = run(capsys, str(tmp_path / "csv"))
    first, second = out.splitlines()
    assert code == 1
    assert first.startswith("sites.csv:3: kind: “church” is not one of: ")
    assert second == "people.csv:2: name: is empty"
    code, out = run(capsys, str(tmp_path / "csv"), "--format", "json")
    assert (code, [(one["file"], one["line"], one["column"]) for one in json.loads(out)["problems"]]) == (
        1,
        [("sites.csv", 3, "kind"), ("people.csv", 2, "name")],
    )
    assert run(capsys, str(tmp_path / "nowhere")) == (2, "")


def test_a_register_of_no_jurisdiction_is_not_found(db: None) -> None:
    with pytest.raises(CustodyError) as caught:
        registers.get_register("ALDER")
    assert caught.value.code == "no-jurisdiction"


def test_the_register_that_was_handed_out_does_not_change(load: Load) -> None:
    load(county())
    before = registers.get_register("ALDER")
    assert registers.get_register("ALDER") is before
    files = county()
    files["sites"][1]["name"] = "Old Hall"
    load(files)
    assert (before.sites["P01"].name, registers.get_register("ALDER").sites["P01"].name) == ("Hall", "Old Hall")
    afresh = Register()
    for line in lines():
        afresh.apply(line["change"]["table"], line["change"]["rows"])
    assert registers.get_register("ALDER") == afresh
