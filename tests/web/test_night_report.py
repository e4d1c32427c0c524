"""The report of the night: its figures are those of the commands; paper and table hold all of it; a note closes nothing."""

from __future__ import annotations

import csv
import io
import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pytest_django.fixtures import Settings

from custody import clock, store
from custody.domain.instants import dump_instant
from custody.domain.rules import RULE_CODES
from custody.models.night import FollowUp
from custody.queries.night_report import HEADINGS
from tests.conftest import lacking
from tests.management.test_commands import run
from tests.web.evening import DRILL, NAMES, Evening, make_evening
from tests.web.test_pages import html_of, strip, text_of
from tests.world_register import ELECTION, JURISDICTION
from tests.worlds_on_record import put_deeds


@pytest.fixture
def office(client: Client, evening: Evening) -> Client:
    client.force_login(User.objects.create_user("office", password="sixteen herons fly", is_staff=True))
    return client


def rows_of(client: Client) -> list[dict[str, str]]:
    """The table, read as RFC 4180 has it by another's reader."""
    response = client.get("/night/report.csv")
    assert response.headers["Content-Type"] == "text/csv; charset=utf-8"
    data = response.content.decode()
    assert data.endswith("\r\n") and "\n" not in data.replace("\r\n", "")
    return list(csv.DictReader(io.StringIO(data, newline=""), strict=True))


def told(command: str, evening: Evening) -> list[dict[str, Any]]:
    now = dump_instant(evening.now)
    ran = run(command, "--rehearsal", DRILL, "--election", ELECTION, "--format", "json", "--now", now)
    assert ran.code == 0, ran.err
    listed: list[dict[str, Any]] = json.loads(ran.out)
    return listed


def words_on(document: bytes, folder: Path) -> list[str]:
    """The text of each page as another program finds it."""
    if shutil.which("pdftotext") is None:
        lacking("browser", "there is no pdftotext (Debian: poppler-utils)")
    (folder / "report.pdf").write_bytes(document)
    command = ["pdftotext", "-raw", str(folder / "report.pdf"), "-"]
    text = subprocess.run(command, check=True, capture_output=True, text=True).stdout  # noqa: S603
    return [" ".join(page.split()) for page in text.split("\f")[:-1]]


def test_every_rule_stands_under_one_heading() -> None:
    assert sorted(HEADINGS) == list(RULE_CODES)


def test_the_lines_are_those_of_the_commands(client: Client, evening: Evening) -> None:
    rows = rows_of(client)
    findings, outstanding = told("findings", evening), told("outstanding", evening)
    assert {row["key"] for row in rows if row["rule"]} == {each["key"] for each in findings}
    assert {row["items"] for row in rows if not row["rule"]} == {each["item"] for each in outstanding}
    assert len(rows) == len(findings) + len(outstanding) == 10
    assert {row["severity"] for row in rows if row["rule"]} == {"critical"}
    lone = next(row for row in rows if row["rule"])
    assert (lone["heading"], lone["what"]) == ("unsigned", findings[0]["message"])
    assert lone["since"] == "2026-11-03T21:00:00-06:00"
    keys = evening.world.kits["P02"].keys
    assert [row["heading"] for row in rows if row["items"] == keys] == ["keys"]


def test_page_and_paper_count_as_the_table_does(client: Client, evening: Evening, tmp_path: Path) -> None:
    text = text_of(client, "/night/report/")
    assert "Not back yet 8 Keys out 1 Seals, contents and counts that differ 0" in text
    assert "lines that nobody follows up yet 10 of 10" in text
    response = client.get("/night/report.pdf")
    assert response.headers["Content-Type"] == "application/pdf"
    pages = words_on(response.content, tmp_path)
    page = " ".join(pages)
    for row in rows_of(client):
        assert row["items"].split(" ")[0] in page
    assert "Not back yet: 8" in page and "Keys out: 1" in page and "Times and steps that do not fit: 0" in page
    assert f"page 1 of {len(pages)}" in page and f"REHEARSAL “{DRILL}”: nothing here is in earnest." in page
    assert "Heavy cases: lift with two." in page
    log = store.open_log(JURISDICTION, DRILL)
    root = store.root_of(log, log.size).hex()
    assert root in page and root in text and f"{log.size} lines, checkpoint none signed yet" in page


def test_paper_of_many_lines_numbers_its_pages_and_loses_none(
    client: Client, db: None, settings: Settings, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    settings.CUSTODY_REHEARSAL = DRILL
    evening = make_evening(places=12)
    monkeypatch.setattr(clock, "now", lambda: evening.now)
    for paper in ("a4", "letter"):
        pages = words_on(client.get(f"/night/report.pdf?paper={paper}").content, tmp_path)
        assert len(pages) > 2
        assert [f"page {number} of {len(pages)}" in page for number, page in enumerate(pages, 1)] == [True] * len(pages)
        assert "Not back yet (continued)" in pages[1]
        text = " ".join(pages)
        assert [row["items"] for row in rows_of(client) if row["items"].split(" ")[0] not in text] == []
    assert client.get("/night/report.pdf?paper=a0").status_code == 404


def test_a_line_goes_when_an_entry_settles_it_and_not_by_a_note(office: Client, evening: Evening) -> None:
    case = evening.world.kits["P02"].case
    key = f"item/{ELECTION}:{case}"
    kept = office.post("/night/report/follow-up/", {"key": key, "who": "  Night  desk, line 2 "})
    assert kept.headers["Location"] == "/night/report/#outstanding"
    assert {row["key"]: row["followed_up_by"] for row in rows_of(office)}[key] == "Night desk, line 2"
    assert "9 of 10" in text_of(office, "/night/report/")
    before = len(evening.world.log)
    arrival = evening.world.arrive("P02")
    put_deeds(store.open_log(JURISDICTION, DRILL), evening.world.log[before:])
    assert arrival.at < evening.now
    assert key not in {row["key"] for row in rows_of(office)}
    late = office.post("/night/report/follow-up/", {"key": key, "who": "Somebody"})
    assert late.status_code == 422 and "an entry has settled it meanwhile" in late.content.decode()


def test_a_resolved_finding_leaves_the_report(client: Client, evening: Evening) -> None:
    keys = {row["key"] for row in rows_of(client)}
    assert f"lone-custodian/{evening.lone.id}:receive" in keys
    assert f"signer-missing/{evening.lone.id}:receive" not in keys  # an entry of the office explained it


def test_a_note_is_taken_back_and_a_bad_one_refused(office: Client, evening: Evening) -> None:
    key = f"lone-custodian/{evening.lone.id}:receive"
    office.post("/night/report/follow-up/", {"key": key, "who": "Reed"})
    assert FollowUp.objects.get().who == "Reed"
    for bad in ("x" * 101, "Re\x00ed", "Re\u202eed"):
        refused = office.post("/night/report/follow-up/", {"key": key, "who": bad})
        assert refused.status_code == 422
        assert refused.content.decode().count(f'name="who" value="{bad}"') == 1, "what was typed stays to be put right"
    assert FollowUp.objects.get().who == "Reed"
    office.post("/night/report/follow-up/", {"key": key, "who": ""})
    assert not FollowUp.objects.exists()


@pytest.mark.parametrize("sign", ["=", "+", "-", "@"])
def test_no_cell_is_a_formula(office: Client, evening: Evening, sign: str) -> None:
    """OWASP, “CSV Injection”: a cell that begins with one of these signs is run by spreadsheets; an apostrophe stops that."""
    key = f"lone-custodian/{evening.lone.id}:receive"
    office.post("/night/report/follow-up/", {"key": key, "who": f'{sign}HYPERLINK("http://x.example")'})
    (row,) = [row for row in rows_of(office) if row["key"] == key]
    assert row["followed_up_by"] == f'\'{sign}HYPERLINK("http://x.example")'


def test_readers_see_who_follows_up_and_the_office_alone_says_it(
    client: Client, db: None, settings: Settings, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    evening = make_evening(log="main")
    monkeypatch.setattr(clock, "now", lambda: evening.now)
    addresses = ["/night/report/", "/night/report.csv", "/night/report.pdf"]
    for address in addresses:
        assert client.get(address).headers["Location"].startswith("/sign-in/?next=/night/report"), address
    key = f"lone-custodian/{evening.lone.id}:receive"
    FollowUp.objects.create(jurisdiction=JURISDICTION, log="main", key=key, who="Larch Emberly")
    client.force_login(User.objects.create_user("clerk", password="sixteen herons fly"))
    said = [html_of(client, addresses[0]), client.get(addresses[1]).content.decode()]
    said += words_on(client.get(addresses[2]).content, tmp_path)
    for text in said:
        assert NAMES["DRIVER-1-P02"] in text and "Larch Emberly" in text
    assert client.post("/night/report/follow-up/", {"key": key, "who": "x"}).status_code == 403
    client.force_login(User.objects.create_user("office", password="sixteen herons fly", is_staff=True))
    assert NAMES["DRIVER-1-P02"] in strip(html_of(client, addresses[0]))
    assert "Larch Emberly" in client.get(addresses[1]).content.decode()


def test_six_places_take_as_many_queries_as_three(
    client: Client, db: None, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.CUSTODY_REHEARSAL = DRILL
    evening = make_evening(places=3, register_of=6)
    monkeypatch.setattr(clock, "now", lambda: evening.now)
    addresses = ["/night/report/", "/night/report.csv", "/night/report.pdf"]
    few = [_queries(client, address) for address in addresses]
    world, before = evening.world, len(evening.world.log)
    for place in world.places[3:]:
        world.until(place, "pack_for_return")
        world.depart(place)
    put_deeds(store.open_log(JURISDICTION, DRILL), world.log[before:])
    assert [_queries(client, address) for address in addresses] == few
    assert max(few) <= 20


def _queries(client: Client, address: str) -> int:
    with CaptureQueriesContext(connection) as queries:
        assert client.get(address).status_code == 200
    return len(queries)
