"""Delivering entries over HTTP: every status of the contract, problem documents, batches, two at once."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any

import pytest
from django.db import connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.test import Client
from pytest_django.fixtures import Settings
from rest_framework.throttling import ScopedRateThrottle

from custody import store
from tests.web.evening import DRILL
from tests.world import World
from tests.world_acts import Deed
from tests.world_register import JURISDICTION
from tests.worlds_on_record import put_register

ADDRESS = "/api/v1/entries/"
PROBLEM = "application/problem+json"


def prepare(settings: Settings) -> World:
    """A register on record, and deeds that were signed but not delivered."""
    settings.CUSTODY_REHEARSAL = DRILL
    world = World(places=1, log=f"{JURISDICTION}/{DRILL}")
    world.until("P01", "open_polls")
    with transaction.atomic():
        put_register(world)
    return world


@pytest.fixture
def world(db: None, settings: Settings) -> World:
    return prepare(settings)


def envelope(deed: Deed) -> dict[str, Any]:
    return deed.envelope()


def post(body: Any, content_type: str = "application/json") -> Any:
    text = body if isinstance(body, str | bytes) else json.dumps(body)
    return Client(enforce_csrf_checks=True).post(ADDRESS, text, content_type=content_type)


def test_an_envelope_is_recorded_once_whoever_sends_it_again(world: World) -> None:
    """201 with a receipt, then 200 with the same; no session and no CSRF token is asked for."""
    first = post(envelope(world.log[0]))
    assert (first.status_code, first["Content-Type"]) == (201, "application/json")
    assert first.json() == {
        "id": world.log[0].id,
        "log": f"{JURISDICTION}/{DRILL}",
        "seq": 0,
        "received": first.json()["received"],
        "leaf": first.json()["leaf"],
    }
    again = post(envelope(world.log[0]))
    assert (again.status_code, again.json()) == (200, first.json())
    assert store.open_log(JURISDICTION, DRILL).size == 1


def test_further_signatures_are_recorded(world: World) -> None:
    whole = envelope(next(deed for deed in world.log if len(deed.signers) > 1))
    part = {**whole, "signatures": whole["signatures"][:1]}
    assert [post(part).status_code, post(whole).status_code, post(whole).status_code, post(part).status_code] == [
        201,
        201,
        200,
        200,
    ]


def test_a_refusal_names_its_code_and_the_member(world: World) -> None:
    """RFC 9457: type, title, status, detail; and our members code and errors."""
    bad = {**envelope(world.log[0]), "payload": "!"}
    answer = post(bad)
    assert (answer.status_code, answer["Content-Type"]) == (422, PROBLEM)
    assert answer.json() == {
        "type": "about:blank",
        "title": "Unprocessable Entity",
        "status": 422,
        "code": "not-envelope",
        "detail": "payload is not base64 in the standard alphabet, padded.",
        "errors": [
            {
                "path": "payload",
                "code": "not-envelope",
                "detail": "payload is not base64 in the standard alphabet, padded.",
            }
        ],
    }


def test_other_bytes_under_a_known_id_are_a_conflict(world: World) -> None:
    deed = world.log[0]
    post(envelope(deed))
    other = replace(deed, payload={**deed.payload, "note": "another"})
    answer = post(envelope(other))
    assert (answer.status_code, answer.json()["code"]) == (409, "id-taken")


@pytest.mark.parametrize(
    ("body", "status", "code"),
    [
        ("{", 422, "not-envelope"),
        ("[]", 422, "not-envelope"),
        (b"\xff\xfe", 422, "not-envelope"),
        ("[" * 100_000, 413, "too-large"),
        (json.dumps({"payload": "A" * 70_000}), 413, "too-large"),
        ('{"payload": "", "payload": "", "payloadType": "", "signatures": []}', 422, "not-envelope"),
    ],
)
def test_what_is_no_envelope_is_refused_in_words(world: World, body: str | bytes, status: int, code: str) -> None:
    answer = post(body)
    assert (answer.status_code, answer["Content-Type"], answer.json()["code"]) == (status, PROBLEM, code)


def test_one_bad_line_holds_back_no_other(world: World) -> None:
    good = [json.dumps(envelope(deed)) for deed in world.log[:3]]
    answer = post("\n".join([good[0], "{", "", good[1], good[0], good[2]]), "application/x-ndjson")
    assert answer.status_code == 207
    assert [
        (each["line"], each["status"], each.get("code"), each.get("receipt", {}).get("seq")) for each in answer.json()
    ] == [
        (1, 201, None, 0),
        (2, 422, "not-envelope", None),
        (4, 201, None, 1),
        (5, 200, None, 0),
        (6, 201, None, 2),
    ]


def test_entries_may_not_be_read_or_removed_there(world: World) -> None:
    answer = Client().delete(ADDRESS)
    assert (answer.status_code, answer["Content-Type"]) == (405, PROBLEM)


def test_two_at_once_are_one_line(own_database: BaseDatabaseWrapper, settings: Settings) -> None:
    world = prepare(settings)
    body = json.dumps(envelope(world.log[0]))

    def deliver(_: int) -> tuple[int, Any]:
        try:
            answer = post(body)
            return answer.status_code, answer.json()
        finally:
            connections.close_all()

    with ThreadPoolExecutor(4) as threads:
        answers = list(threads.map(deliver, range(8)))
    assert sorted(status for status, _ in answers) == [200] * 7 + [201]
    assert len({json.dumps(receipt) for _, receipt in answers}) == 1
    assert store.open_log(JURISDICTION, DRILL).size == 1


def test_too_many_deliveries_are_asked_to_wait(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ScopedRateThrottle, "THROTTLE_RATES", {"entries": "2/min"})
    statuses = [post(envelope(deed)) for deed in world.log[:3]]
    assert [each.status_code for each in statuses] == [201, 201, 429]
    assert 0 < int(statuses[2]["Retry-After"]) <= 61
    assert statuses[2].json()["code"] == "throttled"


def test_a_sender_is_known_by_its_address_whatever_it_says(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """X-Forwarded-For is what a sender wrote, where no proxy is said to be in front."""
    monkeypatch.setattr(ScopedRateThrottle, "THROTTLE_RATES", {"entries": "2/min"})
    bodies = [json.dumps(envelope(deed)) for deed in world.log[:3]]
    statuses = [
        Client().post(ADDRESS, body, content_type="application/json", headers={"X-Forwarded-For": f"192.0.2.{place}"})
        for place, body in enumerate(bodies)
    ]
    assert [each.status_code for each in statuses] == [201, 201, 429]


@pytest.mark.parametrize(("lines", "status"), [(2_000, 207), (2_001, 413), (1_000_000, 413)])
@pytest.mark.parametrize("line", [b"", b"{}"], ids=["blank", "short"])
def test_a_batch_is_counted_before_it_is_taken_apart(world: World, line: bytes, lines: int, status: int) -> None:
    """Blank lines count as well: they cost as much to look at. A newline at the end begins no further line (JSON lines)."""
    answer = post((line + b"\n") * lines, "application/x-ndjson")
    assert answer.status_code == status
    assert len(answer.json()) == (6 if status == 413 else 0 if line == b"" else lines)
