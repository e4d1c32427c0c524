"""The pocket register: its shape, its size, who gets it, and that its work does not grow with the number of things."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pytest_django.fixtures import Settings

from tests.web.evening import NAMES, Evening
from tests.world_register import JURISDICTION

ADDRESS = "/api/v1/sites/{}/pocket/"
MOST_BYTES = 60_000
"""For 60 items and 12 people: a target of our own, so that it comes over a poor network."""


def pocket(client: Client, site: str = "P02") -> Any:
    return client.get(ADDRESS.format(site))


def test_it_has_what_a_phone_needs(client: Client, evening: Evening) -> None:
    document = pocket(client).json()
    assert {"log", "site", "election", "now", "head", "items", "people", "lots", "policy"} <= document.keys()
    assert (document["log"], document["site"], document["head"]) == ("ALDER/drill", "P02", len(evening.world.lines()))
    kit = evening.world.kits["P02"]
    items = {each["code"]: each for each in document["items"]}
    assert set(kit.all) <= items.keys()
    case = items[kit.case]
    assert case.keys() == {
        "code",
        "kind",
        "description",
        "tag",
        "seal_points",
        "opens",
        "holder",
        "container",
        "seals",
        "owed",
    }
    assert case["holder"] == {"role": "courier", "people": evening.world.drivers("P02")["people"]}
    assert case["seals"] == {
        point: number for (item, point), number in evening.world.in_place.items() if item == kit.case
    }
    assert items[items[kit.memory]["container"]]["container"] == kit.case
    assert case["owed"] == "P02"
    people = {each["code"]: each for each in document["people"]}
    assert people["CHIEF-P02"]["name"] == NAMES["CHIEF-P02"]
    assert people["CHIEF-P02"]["roles"] == [{"role": "poll_chief", "site": "P02"}]
    assert people["CHIEF-P02"]["keys"]
    assert "CHIEF-P01" not in people
    assert {lot["issued_to"] for lot in document["lots"]} <= {"P02", ""}
    assert [site["code"] for site in document["sites"] if site["kind"] == "polling_place"] == ["P02"]
    assert document["steps"]


def test_it_is_small(client: Client, evening: Evening) -> None:
    document = pocket(client).json()
    each_item = len(json.dumps(document["items"])) / len(document["items"])
    each_person = len(json.dumps(document["people"])) / len(document["people"])
    rest = len(json.dumps({name: value for name, value in document.items() if name not in ("items", "people")}))
    assert rest + 60 * each_item + 12 * each_person <= MOST_BYTES


def test_a_desk_sees_what_is_owed_by_all(client: Client, evening: Evening) -> None:
    items = {each["code"] for each in pocket(client, "RS").json()["items"]}
    assert set(evening.world.returned("P02")) <= items


def test_more_things_take_no_more_queries(client: Client, evening: Evening) -> None:
    counts = []
    for site in ("P02", "RS", "WH"):
        pocket(client, site)
        with CaptureQueriesContext(
            connection,
        ) as captured:
            assert pocket(client, site).status_code == 200
        counts.append(len(captured))
    assert max(counts) <= 32


def test_in_earnest_it_is_for_those_who_work_there(client: Client, evening: Evening, settings: Settings) -> None:
    settings.CUSTODY_REHEARSAL = ""
    users = get_user_model().objects
    expected = {None: 401, "clerk": 200, "reader": 200}
    users.create_user("clerk", password="x", is_staff=True)
    users.create_user("reader", password="x")
    for person, status in (("CHIEF-P02", 200), ("CHIEF-P01", 403), ("DRIVER-1-P01", 200)):
        users.create_user(f"{JURISDICTION}/{person}", password="x")
        expected[f"{JURISDICTION}/{person}"] = status
    for user, status in expected.items():
        visitor = Client()
        if user:
            visitor.force_login(users.get(username=user), backend="django.contrib.auth.backends.ModelBackend")
        answer = pocket(visitor)
        assert answer.status_code == status, user
        if status != 200:
            assert answer["Content-Type"] == "application/problem+json"


def test_a_place_that_is_not_there(client: Client, evening: Evening) -> None:
    answer = pocket(client, "P99")
    assert (answer.status_code, answer.json()["code"]) == (404, "not-found")


@pytest.mark.one_engine
def test_before_anything_is_recorded_it_names_the_log_all_the_same(
    client: Client, evening: Evening, settings: Settings
) -> None:
    settings.CUSTODY_REHEARSAL = "another"
    document = pocket(client).json()
    assert (document["log"], document["head"], document["steps"]) == ("ALDER/another", 0, [])
    assert {item["holder"] for item in map(dict, document["items"])} == {None}
