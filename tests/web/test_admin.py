"""The register in the admin: what a form puts on the register log, what it refuses and where, and that nothing is deleted."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from itertools import count, islice
from pathlib import Path
from typing import Any

import pytest
from django.contrib.admin.models import LogEntry
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Permission
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django_otp.plugins.otp_totp.models import TOTPDevice

from custody import register_tables, registers, store
from custody.domain.labels import dump_code
from custody.domain.vocabulary import ItemKind
from custody.errors import CustodyError
from custody.masterdata.drafts import TABLES, columns_of, dump_cells
from custody.models import register as tables
from custody.services.append_changes import append_changes
from custody.services.change_row import RowName
from custody.services.load_register import load_register
from custody.services.retire_row import retire_row

NOW = 1_793_880_000  # 2026-11-05T12:00:00Z
J = {"jurisdiction": "ALDER"}
COUNTY: dict[str, list[dict[str, str]]] = {
    "jurisdictions": [{"code": "ALDER", "name": "Alder County", "timezone": "America/Chicago"}],
    "elections": [
        {
            **J,
            "code": "GEN26",
            "name": "General election",
            "date": "2026-11-03",
            "timezone": "America/Chicago",
            "polls_open": "2026-11-03T07:00",
            "polls_close": "2026-11-03T19:00",
            "return_deadline": "2026-11-04T01:00",
        }
    ],
    "sites": [
        {**J, "code": "WH", "name": "Warehouse", "kind": "warehouse", "address": "1 Mill Lane\nby the weir"},
        {**J, "code": "P01", "name": "Hall", "kind": "polling_place", "phone": "555-0101"},
        {**J, "code": "P02", "name": "School", "kind": "polling_place"},
    ],
    "people": [
        {**J, "code": "ANN", "name": "Ann Lark", "phone": "555-0111", "affiliation": "Lark"},
        {**J, "code": "BOB", "name": "Bob Wren"},
    ],
    "keys": [{**J, "person": "ANN", "public_key": "iojj3XQJ8ZX9UtstPLpdcspnCb8dlBIb83SIAbQPb1w="}],
    "items": [
        {
            **J,
            "code": "SC00001D",
            "kind": "scanner",
            "serial": "S-1",
            "tag": "A-1",
            "home_site": "WH",
            "seal_points": "bin",
        },
        {**J, "code": "KS00001D", "kind": "key_set", "opens": "SC00001D"},
        {**J, "kind": "envelope", "description": "memory envelope"},
    ],
    "assignments": [{"election": "GEN26", "person": "ANN", "role": "poll_chief", "site": "P01"}],
    "seal_lots": [
        {**J, "maker": "Arnby", "class": "S", "lot": "L1", "prefix": "S", "first": "1", "last": "50", "width": "7"},
        {**J, "maker": "Arnby", "class": "S", "lot": "L1", "prefix": "S", "first": "51", "last": "100", "width": "7"},
    ],
    "kits": [{"election": "GEN26", "site": "P01", "item": "SC00001D"}],
}
MODELS = {
    "jurisdictions": tables.Jurisdiction,
    "elections": tables.Election,
    "sites": tables.Site,
    "people": tables.Person,
    "keys": tables.Key,
    "items": tables.Item,
    "assignments": tables.Assignment,
    "seal_lots": tables.SealLot,
    "kits": tables.Kit,
}


@pytest.fixture
def county(db: None, tmp_path: Path) -> Iterator[None]:
    """The county on record; afterwards the tables are what the log says, also when they are made of it anew."""
    for table, rows in COUNTY.items():
        with (tmp_path / f"{table}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, columns_of(table), restval="")
            writer.writeheader()
            writer.writerows(rows)
    assert load_register(tmp_path, user="test", now=NOW, dry_run=False).problems == ()
    yield
    assert register_tables.compare_register("ALDER") == []
    assert register_tables.compare_personal_values("ALDER") == []
    before = contents()
    register_tables.rebuild_register("ALDER")
    assert contents() == before


def contents() -> dict[str, list[dict[str, Any]]]:
    """Every row of the tables, but for the numbers that the engine gives."""
    return {
        table: sorted(
            ({name: value for name, value in row.items() if name != "id"} for row in model._default_manager.values()),
            key=str,
        )
        for table, model in MODELS.items()
    }


@pytest.fixture
def office(county: None) -> Client:
    return staff("view", "add", "change", "delete")


def staff(*rights: str) -> Client:
    """Somebody of the office with these rights on every table of the register."""
    user = get_user_model().objects.create_user(f"office-{len(rights)}", is_staff=True)
    names = [f"{right}_{model._meta.model_name}" for right in rights for model in MODELS.values()]
    user.user_permissions.set(Permission.objects.filter(content_type__app_label="custody", codename__in=names))
    client = Client()
    client.force_login(user)
    return client


def address(table: str, what: str, row: Any = None) -> str:
    return reverse(f"admin:custody_{MODELS[table]._meta.model_name}_{what}", args=[row.pk] if row else [])


def lines() -> list[dict[str, Any]]:
    return [line.content() for line in store.read_lines(store.open_log("ALDER", "register"))]


def fields(client: Client, table: str, row: Any) -> dict[str, str]:
    """What a browser would send back of a row's form: the fields that are not disabled, as they are filled in."""
    form = client.get(address(table, "change", row)).context["adminform"].form
    filled = {name: form[name].value() for name, field in form.fields.items() if not field.disabled}
    retired = filled.pop("retired", False)
    return {name: "" if value is None else str(value) for name, value in filled.items()} | (
        {"retired": "on"} if retired else {}
    )


def errors(answer: Any) -> dict[str, list[str]]:
    assert answer.status_code == 200
    return {name: [str(each) for each in found] for name, found in answer.context["adminform"].form.errors.items()}


def user_of(client: Client) -> str:
    return f"user-{client.session['_auth_user_id']}"


def last_change(client: Client, before: int) -> Any:
    """The change of the one line that the register log has grown by, which names who made it."""
    log = lines()
    assert len(log) == before + 1
    assert log[-1]["user"] == user_of(client)
    return log[-1]["change"]


def test_the_admin_says_whose_it_is_and_shows_no_secret_of_a_second_factor(county: None) -> None:
    user = get_user_model().objects.create_superuser("chief of the office")
    client = Client()
    client.force_login(user)
    device = TOTPDevice.objects.create(user=user, name="second factor")
    index = client.get("/admin/").content.decode()
    assert "Custody log: the register" in index and "Django" not in index
    page = client.get(f"/admin/otp_totp/totpdevice/{device.pk}/change/").content.decode()
    assert "second factor" in page and device.key not in page and f"/{device.pk}/qrcode" not in page


def test_a_new_row_is_a_line_of_the_log(office: Client) -> None:
    before = len(lines())
    new = {**J, "code": "P03", "name": "Library", "kind": "polling_place", "address": "3 Elm\r\nback door", "phone": ""}
    answer = office.post(address("sites", "add"), new)
    assert (answer.status_code, answer["Location"]) == (302, address("sites", "changelist"))
    row = {"code": "P03", "name": "Library", "kind": "polling_place", "address": "3 Elm\nback door"}
    assert last_change(office, before) == {"table": "sites", "rows": [row]}
    site = tables.Site.objects.get(code="P03")
    assert (site.jurisdiction, site.name, site.address, site.line, site.retired) == (
        "ALDER", "Library", "3 Elm\nback door", before, False
    )  # fmt: skip
    assert registers.get_register("ALDER").sites["P03"].name == "Library"
    page = office.get(address("sites", "change", site)).content.decode()
    assert f"line {before} of the log ALDER/register" in page and user_of(office) in page
    assert 'href="/places/P03/"' in page


CHANGES: list[tuple[str, dict[str, Any], dict[str, str], dict[str, Any]]] = [
    ("jurisdictions", {"code": "ALDER"}, {"name": "County of Alder"}, {"name": "County of Alder"}),
    ("elections", {"code": "GEN26"}, {"polls_close": "2026-11-03T20:00"}, {"polls_close": 1_793_757_600}),
    (
        "sites",
        {"code": "P02"},
        {"phone": "555-0199", "kind": "count_center"},
        {"phone": "555-0199", "kind": "count_center"},
    ),
    (
        "items",
        {"code": "SC00001D"},
        {"seal_points": "bin;memory", "tag": ""},
        {"seal_points": ["bin", "memory"], "tag": ""},
    ),
    (
        "seal_lots",
        {"first": 51},
        {"last": "90", "issued_to": "P02", "election": "GEN26"},
        {"last": 90, "issued_to": "P02"},
    ),
    ("kits", {"item": "SC00001D"}, {"site": "P02"}, {"site": "P02"}),
]


def test_a_change_replaces_the_row_and_nothing_else(office: Client) -> None:
    """20:00 in Chicago is 02:00Z the day after: 1793757600 by `date -d 2026-11-04T02:00Z +%s`."""
    for table, which, change, then in CHANGES:
        rows = MODELS[table]._default_manager
        row, before, others = rows.get(**which), len(lines()), list(rows.exclude(**which).values())
        answer = office.post(address(table, "change", row), fields(office, table, row) | change)
        assert (table, answer.status_code) == (table, 302)
        made = last_change(office, before)
        assert made["table"] == table and len(made["rows"]) == 1
        assert rows.filter(**which).values(*then).get() == then
        assert list(rows.exclude(**which).values()) == others
        assert LogEntry.objects.order_by("pk").last().get_change_message().startswith("Changed")  # type: ignore[union-attr]


def test_a_form_saved_as_it_was_writes_nothing(office: Client) -> None:
    before, was = lines(), contents()
    for table in [table for table in TABLES if table != "keys"]:
        for row in MODELS[table]._default_manager.all():
            answer = office.post(address(table, "change", row), fields(office, table, row))
            assert (answer.status_code, answer["Location"]) == (302, address(table, "changelist"))
    assert (lines(), contents()) == (before, was)
    assert LogEntry.objects.count() == 0
    assert "nothing was written" in office.get(address("kits", "changelist")).content.decode()


@pytest.mark.one_engine
def test_the_cells_of_a_row_are_read_as_the_row(county: None) -> None:
    """As the file that was loaded has it."""
    rows = registers.read_rows(registers.open_register_log("ALDER")).tables
    for table in ("elections", "sites", "items", "assignments", "seal_lots", "kits"):
        found = [{name: cell for name, cell in dump_cells(table, row).items() if cell} for row in rows[table].values()]
        given = [{name: cell for name, cell in row.items() if name != "jurisdiction"} for row in COUNTY[table]]
        assert [each for each in found if each not in given] == [
            each
            for each in found
            if each.get("kind") == "envelope"  # which was given a code
        ]
        assert len(found) == len(given)


def test_a_row_retires_and_comes_back(office: Client) -> None:
    for table in [table for table in TABLES if table not in ("keys", "jurisdictions")]:
        rows = MODELS[table]._default_manager
        row, before = rows.order_by("pk")[0], len(lines())
        form, stood = fields(office, table, row), rows.count()
        assert office.post(address(table, "change", row), form | {"retired": "on"}).status_code == 302
        made = last_change(office, before)
        assert (made["table"], made["rows"][0]["retired"]) == (table, True)
        row.refresh_from_db()
        assert (row.retired, row.line, rows.count()) == (True, before, stood)
        form = fields(office, table, row)
        assert office.post(address(table, "change", row), form).status_code == 302
        assert len(lines()) == before + 1
        assert form.pop("retired") == "on"
        assert office.post(address(table, "change", row), form).status_code == 302
        assert "retired" not in last_change(office, before + 1)["rows"][0]
        row.refresh_from_db()
        assert row.retired is False


def test_a_form_that_was_overtaken_is_not_saved(office: Client) -> None:
    """Two of the office have the row open; the second would undo what the first saved, without having seen it."""
    site, second = tables.Site.objects.get(code="P02"), staff("view", "change")
    early = fields(second, "sites", site)
    office.post(address("sites", "change", site), fields(office, "sites", site) | {"phone": "555-0188"})
    before = lines()
    for more in ({"name": "Old school"}, {"retired": "on"}):
        found = errors(second.post(address("sites", "change", site), early | more))
        assert found == {"__all__": ["Somebody changed this row meanwhile. Open it again, and look before you save."]}
    assert lines() == before
    assert tables.Site.objects.get(code="P02").phone == "555-0188"
    late = fields(second, "sites", site) | {"name": "Old school"}
    assert second.post(address("sites", "change", site), late).status_code == 302
    assert (tables.Site.objects.get(code="P02").name, tables.Site.objects.get(code="P02").phone) == (
        "Old school",
        "555-0188",
    )


def test_what_retires_keeps_what_it_says(office: Client) -> None:
    site, before = tables.Site.objects.get(code="P02"), lines()
    form = fields(office, "sites", site) | {"name": "Old school", "retired": "on"}
    assert errors(office.post(address("sites", "change", site), form)).keys() == {"name"}
    assert lines() == before


REFUSED: list[tuple[str, dict[str, str], str, str]] = [
    ("sites", {**J, "code": "p 3", "name": "x", "kind": "vault"}, "code", "“p 3” is not a code"),
    ("sites", {**J, "code": "P01", "name": "x", "kind": "vault"}, "code", "Stands on the register already: P01"),
    ("sites", {**J, "code": "P09", "name": "x" * 1001, "kind": "vault"}, "name", "1001 characters"),
    ("items", {**J, "kind": "scanner", "tag": "A-1"}, "code", "Stands on the register already: SC00001D"),
    ("items", {**J, "kind": "envelope", "opens": "SC00001D"}, "opens", "Only a key_set opens anything"),
    ("items", {**J, "kind": "envelope", "home_site": "P77"}, "home_site", "There is no site P77 in ALDER"),
    ("items", {**J, "kind": "envelope", "code": "EN00001A"}, "code", "check character"),
    ("assignments", {"election": "GEN26", "person": "EVE", "role": "courier"}, "person", "There is no person EVE"),
    ("kits", {"election": "GEN26", "site": "P02", "item": "SC00001D"}, "__all__", "Stands on the register already"),
    (
        "seal_lots",
        {**J, "maker": "Arnby", "lot": "L2", "prefix": "S", "first": "100", "last": "120", "width": "7"},
        "first",
        "Numbers of this maker are in the lot L1 already",
    ),
    (
        "seal_lots",
        {**J, "maker": "Arnby", "lot": "L1", "prefix": "S", "first": "51", "last": "60", "width": "7"},
        "first",
        "Numbers of this maker are in the lot L1 already",
    ),
    (
        "seal_lots",
        {**J, "maker": "Arnby", "lot": "L3", "first": "9", "last": "8", "width": "7"},
        "last",
        "Is smaller than the first number",
    ),
    (
        "elections",
        {**COUNTY["elections"][0], "code": "RUN26", "polls_close": "2026-11-03T06:00"},
        "polls_close",
        "Comes before polls_open",
    ),
    ("elections", {**COUNTY["elections"][0], "code": "RUN26", "timezone": "Alder"}, "timezone", "IANA"),
]  # fmt: skip


@pytest.mark.one_engine
def test_what_a_load_refuses_stands_at_its_field(office: Client) -> None:
    before, was = lines(), contents()
    for table, cells, field, reason in REFUSED:
        found = errors(office.post(address(table, "add"), cells))
        assert (reason, set(found)) == (reason, {field})
        assert reason in found[field][0]
    assert (lines(), contents()) == (before, was)


def test_one_more_of_the_same_gets_a_code_of_its_own(office: Client) -> None:
    (first,) = tables.Item.objects.filter(kind="envelope")
    like = {**J, "kind": "envelope", "description": "memory envelope"}
    answer = office.post(address("items", "add"), like, follow=True)
    second = tables.Item.objects.filter(kind="envelope").exclude(code=first.code).get()
    assert (first.code, second.code) == (dump_code(ItemKind.ENVELOPE, 1), dump_code(ItemKind.ENVELOPE, 2))
    assert second.code in answer.content.decode()


def test_a_lot_is_split_part_by_part(office: Client) -> None:
    whole = tables.SealLot.objects.get(first=51)
    office.post(address("seal_lots", "change", whole), fields(office, "seal_lots", whole) | {"last": "70"})
    part = {**J, "maker": "Arnby", "lot": "L1", "prefix": "S", "first": "71", "last": "100", "width": "7"}
    assert office.post(address("seal_lots", "add"), part).status_code == 302
    parts = tables.SealLot.objects.order_by("first").values_list("first", "last", "retired")
    assert list(parts) == [(1, 50, False), (51, 70, False), (71, 100, False)]


def test_a_change_of_a_person_erases_nothing(office: Client) -> None:
    ann, before = tables.Person.objects.get(code="ANN"), len(lines())
    kept = list(
        tables.PersonalValue.objects.order_by("person", "field").values_list("person", "field", "value", "salt")
    )
    form = fields(office, "people", ann)
    assert form == {"name": "Ann Lark", "phone": "555-0111", "affiliation": "Lark", "seen": str(ann.line)}
    assert office.post(address("people", "change", ann), form | {"affiliation": "Wren"}).status_code == 302
    commitments = {"name_commitment": ann.name_commitment, "phone_commitment": ann.phone_commitment}
    assert last_change(office, before)["rows"] == [{"code": "ANN", "affiliation": "Wren", **commitments}]
    now = tables.PersonalValue.objects.order_by("person", "field").values_list("person", "field", "value", "salt")
    assert [tuple(map(bytes_or_text, row)) for row in now] == [tuple(map(bytes_or_text, row)) for row in kept]
    assert tables.Key.objects.get(person="ANN").revoked_at is None


def bytes_or_text(value: Any) -> Any:
    return bytes(value) if isinstance(value, memoryview) else value


def test_a_new_name_is_kept_beside_the_log(office: Client) -> None:
    new = {**J, "code": "EVE", "name": "Eve Heron", "phone": "555-0177", "affiliation": ""}
    assert office.post(address("people", "add"), new).status_code == 302
    row = lines()[-1]["change"]["rows"][0]
    assert row.keys() == {"code", "name_commitment", "phone_commitment"}
    assert b"Heron" not in b"".join(line.body for line in store.read_lines(store.open_log("ALDER", "register")))
    kept = tables.PersonalValue.objects.get(person="EVE", field="name")
    assert row["name_commitment"] == register_tables.commitment("Eve Heron", bytes(kept.salt))
    # What was done in the admin names nobody either.
    assert "Heron" not in str(list(LogEntry.objects.values()))


def test_who_was_erased_retires_without_a_name(office: Client) -> None:
    register_tables.erase_personal_values("ALDER", [("BOB", "name")])
    bob = tables.Person.objects.get(code="BOB")
    form = fields(office, "people", bob)
    assert errors(office.post(address("people", "change", bob), form)).keys() == {"name"}
    assert office.post(address("people", "change", bob), form | {"retired": "on"}).status_code == 302
    bob.refresh_from_db()
    assert bob.retired is True
    assert bob.name_commitment != ""


def test_nothing_is_deleted(office: Client) -> None:
    """By whom, does not matter: the superuser has every right there is."""
    root = Client()
    root.force_login(get_user_model().objects.create_superuser("root"))
    was = contents()
    for client in (office, root):
        for table, model in MODELS.items():
            row = model._default_manager.order_by("pk")[0]
            assert client.get(address(table, "delete", row)).status_code == 403
            assert client.post(address(table, "delete", row), {"post": "yes"}).status_code == 403
            everything = {"action": "delete_selected", "_selected_action": [row.pk], "post": "yes"}
            assert client.post(address(table, "changelist"), everything).status_code in (200, 302, 403)
            page = client.get(address(table, "changelist")).content.decode()
            assert "delete_selected" not in page
            assert "deletelink" not in client.get(address(table, "change", row)).content.decode()
    assert contents() == was


@pytest.mark.one_engine
def test_keys_are_shown_and_not_changed(office: Client) -> None:
    key = tables.Key.objects.get()
    page = office.get(address("keys", "change", key)).content.decode()
    assert key.keyid in page and "badges are made and called in" in page
    assert office.post(address("keys", "change", key), {"person": "BOB"}).status_code == 403
    assert office.post(address("keys", "add"), {"person": "BOB"}).status_code == 403
    assert office.get(address("jurisdictions", "add")).status_code == 403


@pytest.mark.one_engine
def test_what_is_not_of_the_register_is_not_there(office: Client) -> None:
    listed = {each["object_name"] for app in office.get("/admin/").context["app_list"] for each in app["models"]}
    assert listed == {model.__name__ for model in MODELS.values()}


@pytest.mark.one_engine
def test_who_may_not_sees_nothing(county: None) -> None:
    nobody, reader, item = staff(), staff("view"), tables.Item.objects.get(code="SC00001D")
    assert nobody.get("/admin/").context["app_list"] == []
    for table, model in MODELS.items():
        row = model._default_manager.order_by("pk")[0]
        for what, of in (("changelist", None), ("add", None), ("change", row), ("history", row)):
            assert nobody.get(address(table, what, of)).status_code == 403
        assert reader.get(address(table, "changelist")).status_code == 200
        assert reader.get(address(table, "change", row)).status_code == 200
        assert reader.get(address(table, "add")).status_code == 403
    before = lines()
    for client, status in ((nobody, 403), (reader, 403), (Client(), 302)):
        assert client.post(address("items", "change", item), {"kind": "scanner"}).status_code == status
    assert lines() == before
    page = reader.get(address("items", "change", item)).content.decode()
    assert "SC00001D" in page and "<textarea" not in page


def test_a_list_asks_as_often_for_a_thousand_items_as_for_few(office: Client) -> None:
    def queries(table: str, **asked: str) -> int:
        with CaptureQueriesContext(connection) as seen:
            answer = office.get(address(table, "changelist"), asked)
        assert answer.status_code == 200
        return len(seen)

    asked: dict[str, dict[str, str]] = {"items": {"q": "env", "kind": "envelope"}, "people": {"q": "Lark"}}
    few = {table: queries(table, **more) for table, more in asked.items()}
    log = store.lock_head(registers.open_register_log("ALDER"))
    items = [
        {"code": code, "kind": "envelope", "description": f"envelope {code}"}
        for code in islice(filter(None, (dump_code(ItemKind.ENVELOPE, number) for number in count(10))), 1000)
    ]
    people = [{"code": f"P-{number:04d}", "affiliation": "Lark"} for number in range(1000)]
    append_changes(log, {"items": items, "people": people}, user="test", now=NOW)
    assert {table: queries(table, **more) for table, more in asked.items()} == few
    assert max(few.values()) <= 13
    found = office.get(address("items", "changelist"), asked["items"]).context["cl"]
    assert (found.result_count, len(found.result_list)) == (1001, 100)


def test_people_are_found_by_name(office: Client) -> None:
    page = office.get(address("people", "changelist"), {"q": "lark"})
    assert [each.code for each in page.context["cl"].result_list] == ["ANN"]
    assert "555-0111" in page.content.decode()


def test_a_badge_in_a_field_loses_its_secret(office: Client) -> None:
    badge = "CB1:ANN:1T2V2M7709NWWH0671PW6HGV3SQ"
    answer = office.get(address("people", "changelist"), {"q": badge})
    assert (answer.status_code, answer["Location"]) == (302, address("people", "changelist") + "?q=ANN")
    page = office.post(
        address("assignments", "add"), {"election": "", "person": badge, "role": "courier", "site": badge}
    )
    assert errors(page).keys() == {"election"}
    assert "1T2V2M77" not in page.content.decode()
    office.post(address("assignments", "add"), {"election": "GEN26", "person": badge, "role": "courier", "site": ""})
    assert tables.Assignment.objects.get(role="courier").person == "ANN"


def test_tables_that_differ_from_the_log_are_not_written_on(office: Client) -> None:
    """The list says so instead."""
    item = tables.Item.objects.get(code="SC00001D")
    tables.Item.objects.filter(code="SC00001D").update(line=0)
    before = lines()
    answer = office.post(address("items", "change", item), {"kind": "scanner"}, follow=True)
    assert "does not hold this row" in answer.content.decode()
    assert lines() == before
    tables.Item.objects.filter(code="SC00001D").update(line=item.line)


@pytest.mark.one_engine
def test_pages_of_the_admin_hold_nothing_inline(office: Client) -> None:
    """The policy would not let it: every script comes from a file, and nothing has a style of its own."""
    site = tables.Site.objects.get(code="P01")
    for path in (address("sites", "changelist"), address("sites", "change", site), address("items", "add")):
        answer = office.get(path)
        page = answer.content.decode()
        assert "style-src 'self'" in answer.headers["Content-Security-Policy"]
        assert "<style" not in page and " style=" not in page
        assert page.count("<script") == page.count("<script src=") + page.count('<script id="')


@pytest.mark.one_engine
def test_a_row_that_is_not_there_cannot_retire(office: Client) -> None:
    with pytest.raises(CustodyError) as refused:
        retire_row(RowName(table="sites", jurisdiction="ALDER", key=("P99",)), user="u", now=NOW)
    assert refused.value.code == "no-row"
