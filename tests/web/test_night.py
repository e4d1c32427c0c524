"""The pages of the night office: what they show of one evening, to whom, in how many queries; and what staff types there."""

from __future__ import annotations

import re

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pytest_django.fixtures import Settings

from custody import clock, store
from custody.models.night import Estimate
from custody.queries.findings import list_latest_findings
from custody.queries.rules import rule_titles
from tests.web.evening import DRILL, NAMES, PHONE, Evening, make_evening
from tests.web.test_pages import html_of, strip, text_of
from tests.world_register import JURISDICTION
from tests.worlds_on_record import put_deeds


@pytest.fixture
def office(client: Client, evening: Evening) -> Client:
    client.force_login(User.objects.create_user("office", password="sixteen herons fly", is_staff=True))
    return client


def test_the_desk_sees_every_place_with_its_couriers_and_the_number_to_ring(client: Client, evening: Evening) -> None:
    html = html_of(client, "/night/")
    assert re.findall(r'data-state="(\w+)"', html) == ["on_the_way", "in"]
    text = strip(html)
    assert f"Site P02 P02 On the way Courier · {NAMES['DRIVER-1-P02']}, DRIVER-2-P02 Tue 3 Nov, 21:00 CST" in text
    assert "9 Tue 3 Nov, 22:30 CST policy’s limit for transit" in text  # 90 minutes of policy after 21:00
    assert f'href="tel:{PHONE.replace("-", "")}"' in html
    assert "items not back yet 9 of 18" in text
    assert f'href="/findings/lone-custodian/{evening.lone.id}:receive"' in html


def test_filters_choose_by_state(client: Client, evening: Evening) -> None:
    for state, sites in (
        ("in", ["P01"]),
        ("out", ["P02"]),
        ("overdue", []),
        ("", ["P02", "P01"]),
        ("lost", ["P02", "P01"]),
    ):
        html = html_of(client, f"/night/?state={state}")
        assert re.findall(r'<th role="rowheader" scope="row">(?:<a [^>]*>)?Site (\w+)', html) == sites, state


def test_the_wall_names_no_person_and_no_number(client: Client, evening: Evening) -> None:
    html = html_of(client, "/night/wall/")
    text = strip(html)
    assert "On the way Site P02" in text and "In Site P01" in text
    assert "tel:" not in html and PHONE not in html
    newest = list_latest_findings(store.open_log(JURISDICTION, DRILL), "GEN26", now=evening.now, most=3)
    titles = rule_titles()
    news = text.partition("Latest findings")[2]
    at = [news.index(titles[each.finding.rule]) for each in newest]
    assert at and at == sorted(at), "the latest findings, by what their rules are called"
    people = [NAMES["DRIVER-1-P02"], "DRIVER-1-P02", "DRIVER-2-P02", "CHIEF-P02", "WORKER-1-P02"]
    assert [each for each in people if each in html] == []


@pytest.mark.parametrize("address", ["/night/", "/night/wall/"])
def test_a_page_gives_its_parts_alone_for_refreshing(client: Client, evening: Evening, address: str) -> None:
    whole, part = html_of(client, address), html_of(client, address + "?part=1")
    assert part.startswith('<div id="night"') and "<html" not in part and part.strip() in whole
    assert '<noscript><meta http-equiv="refresh" content="30"></noscript>' in whole
    assert 'data-as-of="22:00 CST"' in part


def test_who_may_not_read_gets_neither_page_nor_parts(
    client: Client, db: None, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    evening = make_evening(log="main")
    monkeypatch.setattr(clock, "now", lambda: evening.now)
    for address in ("/night/", "/night/wall/", "/night/?part=1"):
        assert client.get(address).headers["Location"].startswith("/sign-in/?next=/night/"), address
    client.force_login(User.objects.create_user("clerk", password="sixteen herons fly"))
    html = html_of(client, "/night/")
    assert NAMES["DRIVER-1-P02"] in html and PHONE in html, "whoever reads the record rings, too"
    assert "/night/places/" not in html
    assert client.get("/night/places/P02/").status_code == 403


def test_staff_types_when_a_place_is_expected_and_takes_it_back(office: Client, evening: Evening) -> None:
    assert 'href="/night/places/P02/"' in html_of(office, "/night/")
    kept = office.post("/night/places/P02/", {"way": "departure", "minutes": "45", "time": ""})
    assert kept.headers["Location"] == "/night/"
    text = text_of(office, "/night/")
    assert "Overdue Courier" in text and "21:45 CST estimate, from departure" in text  # 45 minutes after 21:00
    assert 'value="45"' in html_of(office, "/night/places/P02/")
    office.post("/night/places/P02/", {"way": "time", "minutes": "", "time": "2026-11-03T22:40"})
    assert "22:40 CST estimate" in text_of(office, "/night/")
    assert 'value="2026-11-03T22:40"' in html_of(office, "/night/places/P02/")
    office.post("/night/places/P02/", {"way": "none", "minutes": "", "time": ""})
    assert not Estimate.objects.exists()


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"way": "departure", "minutes": "0"}, "Minutes: a whole number from 1 to 1440."),
        ({"way": "departure", "minutes": f"000001{'9' * 30}"}, "Minutes: a whole number from 1 to 1440."),
        ({"way": "closing", "minutes": "1441"}, "Minutes: a whole number from 1 to 1440."),
        ({"way": "closing", "minutes": "1,5"}, "Minutes: a whole number from 1 to 1440."),
        ({"way": "closing", "minutes": "²"}, "Minutes: a whole number from 1 to 1440."),
        ({"way": "time", "time": ""}, "Expected at: a day and a time are needed."),
        ({"way": "time", "time": "2025-11-03T22:40"}, "Expected at: this is more than a day from the closing"),
        ({"minutes": "10"}, "Say how the arrival is reckoned."),
    ],
)
def test_what_cannot_be_an_estimate_is_said(office: Client, evening: Evening, typed: dict[str, str], said: str) -> None:
    answer = office.post("/night/places/P02/", typed)
    assert answer.status_code == 422
    assert said in answer.content.decode() and not Estimate.objects.exists()


def test_an_unknown_place_has_no_estimate(office: Client, evening: Evening) -> None:
    assert office.get("/night/places/P99/").status_code == 404


def test_an_empty_installation_says_what_to_do(client: Client, db: None, settings: Settings) -> None:
    settings.CUSTODY_REHEARSAL = DRILL
    for address in ("/night/", "/night/wall/"):
        assert "Nothing is on record for an election yet." in text_of(client, address)


@pytest.mark.parametrize("address", ["/night/", "/night/wall/"])
def test_six_places_take_as_many_queries_as_three(
    client: Client, db: None, settings: Settings, monkeypatch: pytest.MonkeyPatch, address: str
) -> None:
    settings.CUSTODY_REHEARSAL = DRILL
    evening = make_evening(places=3, register_of=6)
    monkeypatch.setattr(clock, "now", lambda: evening.now)
    few = _queries(client, address)
    world, before = evening.world, len(evening.world.log)
    for place in world.places[3:]:
        world.until(place, "pack_for_return")
        world.depart(place)
    put_deeds(store.open_log(JURISDICTION, DRILL), world.log[before:])
    assert html_of(client, address).count("On the way") > 2
    assert _queries(client, address) == few <= 28


def _queries(client: Client, address: str) -> int:
    html_of(client, address)
    with CaptureQueriesContext(connection) as queries:
        html_of(client, address)
    return len(queries)
