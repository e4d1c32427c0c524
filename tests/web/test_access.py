"""Signing in: challenges, lock-out, second factor, passwords, who may enrol badges."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.test import Client
from django_otp.oath import totp
from django_otp.plugins.otp_totp.models import TOTPDevice
from pytest_django.fixtures import Settings

from custody import clock
from custody.ledger.canonical import dump_canonical
from custody.ledger.envelope import PAYLOAD_TYPE, dump_envelope, sign_envelope
from custody.models.access import Challenge
from custody.models.register import Key, Person
from custody.services.sign_in import PAYLOAD_TYPE as SIGN_IN
from tests.web.evening import Evening
from tests.world_register import signer_of

PERSON = "CHIEF-P02"
PASSWORD = "sixteen herons fly"


def ask(client: Client, person: str = PERSON) -> dict[str, Any]:
    answer = client.post("/sign-in/challenge/", json.dumps({"person": person}), content_type="application/json")
    assert answer.status_code == 200
    members: dict[str, Any] = answer.json()
    return members


def answer(client: Client, members: dict[str, Any], *signers: str, payload_type: str = SIGN_IN) -> Any:
    envelope = sign_envelope(dump_canonical(members), map(signer_of, signers), payload_type=payload_type)
    return client.post("/sign-in/badge/", json.dumps(dump_envelope(envelope)), content_type="application/json")


def who(client: Client) -> Any:
    return client.get("/sign-in/who/").json()


def test_a_signed_challenge_signs_in_once(client: Client, evening: Evening) -> None:
    members = ask(client)
    assert members.keys() == {"origin", "nonce", "expiry", "person"}
    assert members["origin"] == "http://testserver"
    first = answer(client, members, PERSON)
    assert (first.status_code, first.json()) == (200, {"next": "/at-work/"})
    assert who(client)["person"] == PERSON
    again = answer(Client(), members, PERSON)
    assert (again.status_code, again.json()["code"]) == (400, "stale-challenge")


def wrong_person(members: dict[str, Any]) -> dict[str, Any]:
    return {**members, "person": "CHIEF-P01"}


def wrong_origin(members: dict[str, Any]) -> dict[str, Any]:
    return {**members, "origin": "http://elsewhere.example"}


def own_nonce(members: dict[str, Any]) -> dict[str, Any]:
    return {**members, "nonce": "0" * 64}


def longer(members: dict[str, Any]) -> dict[str, Any]:
    return {**members, "expiry": "2036-11-04T04:00:00Z"}


@pytest.mark.parametrize("change", [wrong_person, wrong_origin, own_nonce, longer])
def test_a_challenge_that_was_changed_is_none(
    client: Client, evening: Evening, change: Callable[[dict[str, Any]], dict[str, Any]]
) -> None:
    members = change(ask(client))
    done = answer(client, members, members["person"])
    assert (done.status_code, done.json()["code"]) == (400, "stale-challenge")
    assert who(client)["person"] == ""


def test_a_challenge_ends_after_two_minutes(client: Client, evening: Evening, monkeypatch: pytest.MonkeyPatch) -> None:
    members = ask(client)
    monkeypatch.setattr(clock, "now", lambda: evening.now + 120)
    assert answer(client, members, PERSON).json()["code"] == "stale-challenge"


def test_a_challenge_of_another_installation_is_none(client: Client, evening: Evening, settings: Settings) -> None:
    """The nonce is authenticated with a secret of the installation: without it nobody makes one."""
    members = ask(client)
    settings.SECRET_KEY = "another " * 8
    assert answer(client, members, PERSON).json()["code"] == "stale-challenge"


def test_however_many_challenges_are_asked_for_nothing_is_kept(client: Client, evening: Evening) -> None:
    """Whoever asks needs no account: what is kept must not grow by asking. A sign-in leaves a row until its challenge ends."""
    asked = [ask(client, f"NOBODY-{number}") for number in range(20)]
    assert len({each["nonce"] for each in asked}) == 20
    assert Challenge.objects.count() == 0
    members = ask(client)
    assert answer(client, members, PERSON).status_code == 200
    assert list(Challenge.objects.values_list("nonce", "person")) == [(members["nonce"], PERSON)]


def test_what_is_kept_of_a_sign_in_goes_when_its_challenge_has_ended(
    client: Client, evening: Evening, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer(client, ask(client), PERSON)
    monkeypatch.setattr(clock, "now", lambda: evening.now + 120)
    later = ask(client)
    assert answer(Client(), later, PERSON).status_code == 200
    assert list(Challenge.objects.values_list("nonce", flat=True)) == [later["nonce"]]


@pytest.mark.parametrize(
    "body",
    [
        "",
        "[]",
        "null",
        '{"person": 1}',
        '{"person": ""}',
        '{"person": "\\ud800"}',
        '{"person": "A\\u0000"}',
        "[" * 4_000,
    ],
    ids=["nothing", "a list", "null", "a number", "empty", "half a character", "a zero", "deep"],
)
def test_asking_for_nobody_is_a_bad_request(client: Client, evening: Evening, body: str) -> None:
    """RFC 8259 lets a string hold half a character, which no database takes; and nesting may be of any depth."""
    asked = client.post("/sign-in/challenge/", body, content_type="application/json")
    assert (asked.status_code, asked.json()["code"]) == (400, "bad-request")


@pytest.mark.parametrize("nonce", [1, True, ["a"], {}, "", "\0", "0" * 64])
def test_an_answer_with_an_odd_nonce_is_stale(client: Client, evening: Evening, nonce: Any) -> None:
    done = answer(client, {**ask(client), "nonce": nonce}, PERSON)
    assert (done.status_code, done.json()["code"]) == (400, "stale-challenge")


def test_another_persons_key_or_two_keys_sign_nobody_in(client: Client, evening: Evening) -> None:
    for signers in (("CHIEF-P01",), (PERSON, "CHIEF-P01")):
        done = answer(client, ask(client), *signers)
        assert (done.status_code, done.json()["code"]) == (403, "not-signed-in")
    assert who(client)["person"] == ""


def test_an_unknown_person_is_answered_like_a_wrong_pin(client: Client, evening: Evening) -> None:
    unknown = answer(client, ask(client, "NOBODY-9"), "CHIEF-P01")
    wrong = answer(client, ask(client), "CHIEF-P01")
    assert (unknown.status_code, unknown.json()) == (wrong.status_code, wrong.json())


def test_no_entry_signs_in_and_no_answer_is_recorded(client: Client, evening: Evening) -> None:
    """DSSE v1.0.2: the payload type is under the signature."""
    members = ask(client)
    assert answer(client, members, PERSON, payload_type=PAYLOAD_TYPE).status_code == 400
    deed = evening.world.log[0].envelope()
    posted = client.post("/sign-in/badge/", json.dumps(deed), content_type="application/json")
    assert posted.status_code == 400
    envelope = dump_envelope(sign_envelope(dump_canonical(members), [signer_of(PERSON)], payload_type=SIGN_IN))
    recorded = client.post("/api/v1/entries/", json.dumps(envelope), content_type="application/json")
    assert (recorded.status_code, recorded.json()["code"]) == (422, "unknown-type")


def test_the_tenth_wrong_answer_is_the_last_that_is_looked_at(client: Client, evening: Evening) -> None:
    """NIST SP 800-63B: ten in a row, then disabled. One that is right in between begins anew."""
    for _ in range(9):
        assert answer(client, ask(client), "CHIEF-P01").status_code == 403
    assert answer(client, ask(client), PERSON).status_code == 200
    for _ in range(9):
        assert answer(client, ask(client), "CHIEF-P01").status_code == 403
    kept = ask(client)
    assert answer(client, ask(client), "CHIEF-P01").status_code == 403
    locked = answer(client, kept, PERSON)
    assert (locked.status_code, locked.json()["code"]) == (429, "locked")


def test_next_leads_to_this_site_only(client: Client, evening: Evening) -> None:
    for asked, given in (
        ("/items/BC000016/", "/items/BC000016/"),
        ("https://elsewhere.example/", "/at-work/"),
        ("//x", "/at-work/"),
    ):
        envelope = dump_envelope(sign_envelope(dump_canonical(ask(client)), [signer_of(PERSON)], payload_type=SIGN_IN))
        done = client.post(f"/sign-in/badge/?next={asked}", json.dumps(envelope), content_type="application/json")
        assert done.json() == {"next": given}


def test_a_person_is_shown_their_own_places(client: Client, evening: Evening) -> None:
    answer(client, ask(client), PERSON)
    assert [site["code"] for site in who(client)["sites"]] == ["P02"]


def test_in_earnest_nobody_is_told_of_places(client: Client, evening: Evening, settings: Settings) -> None:
    settings.CUSTODY_REHEARSAL = ""
    assert who(client).get("person") != PERSON


@pytest.fixture
def clerk(db: None) -> Any:
    return get_user_model().objects.create_user("clerk", password=PASSWORD, is_staff=True)


def sign_in(client: Client, **more: str) -> Any:
    return client.post("/sign-in/", {"username": "clerk", "password": PASSWORD, **more})


def test_a_second_factor_is_asked_of_who_has_one(client: Client, clerk: Any) -> None:
    """RFC 6238, by django-otp's own arithmetic."""
    assert sign_in(client).status_code == 302
    page = client.get("/second-factor/").content.decode()
    device = TOTPDevice.objects.get(user=clerk)
    assert device.confirmed is False
    assert "<svg" in page
    wrong = client.post("/second-factor/", {"code": "000000"})
    assert "This code does not fit" in wrong.content.decode()
    TOTPDevice.objects.update(throttling_failure_count=0, throttling_failure_timestamp=None)
    assert client.post("/second-factor/", {"code": f"{totp(device.bin_key):06d}"}).status_code == 302
    other = Client()
    assert sign_in(other).status_code == 200
    assert "the code does not fit" in sign_in(other).content.decode()
    later = totp(device.bin_key, t0=-30)  # the code of the next half minute: that of this one was used
    TOTPDevice.objects.update(throttling_failure_count=0, throttling_failure_timestamp=None)
    assert sign_in(other, code=f"{later:06d}").status_code == 302


def test_the_admin_has_no_door_of_its_own(client: Client, clerk: Any) -> None:
    answered = client.get("/admin/login/?next=/admin/")
    assert (answered.status_code, answered["Location"]) == (302, "/sign-in/?next=/admin/")


def test_ten_wrong_passwords_lock_a_name_for_an_hour(client: Client, clerk: Any) -> None:
    for _ in range(10):
        last = client.post("/sign-in/", {"username": "clerk", "password": "wrong"})
    assert last.status_code == 429
    assert "switched off for an hour" in last.content.decode()
    assert sign_in(Client()).status_code == 429


@pytest.mark.parametrize(
    ("password", "fits"),
    [("nine herons over", True), ("fourteen-chars", False), ("x1-" * 30, True), ("123456789101112", False)],
)
def test_passwords_are_long_and_not_common(db: None, password: str, fits: bool) -> None:
    """NIST SP 800-63B: 15 characters where they stand alone, 64 and more are taken, common ones refused."""
    if fits:
        validate_password(password)
    else:
        with pytest.raises(ValidationError):
            validate_password(password)


def test_a_password_beside_a_second_factor_may_have_eight(db: None, clerk: Any) -> None:
    with pytest.raises(ValidationError):
        validate_password("herons-9", clerk)
    TOTPDevice.objects.create(user=clerk, confirmed=True, name="x")
    validate_password("herons-9", clerk)


@pytest.mark.parametrize("path", ["", "badge/", "badge/revoke/", "badge/lift/"])
def test_badges_are_for_the_office(client: Client, evening: Evening, clerk: Any, path: str) -> None:
    address = f"/people/{PERSON}/{path}"
    method = client.post if path else client.get
    assert method(address)["Location"].startswith("/sign-in/")
    answer(client, ask(client), PERSON)
    assert method(address).status_code == 403
    other = Client()
    sign_in(other)
    assert (other.post if path else other.get)(address).status_code in (200, 302, 400)


def test_people_are_listed_in_as_many_queries_for_a_hundred_as_for_one(
    client: Client, evening: Evening, clerk: Any, django_assert_max_num_queries: Any
) -> None:
    sign_in(client)
    with django_assert_max_num_queries(16):
        page = client.get("/people/?q=kettle").content.decode()
    assert "Clover Kettlewick" in page
    with django_assert_max_num_queries(16):
        assert "CHIEF-P01" in client.get("/people/").content.decode()


def test_who_left_service_stands_so_and_the_badge_is_not_forgotten(
    client: Client, evening: Evening, clerk: Any
) -> None:
    sign_in(client)
    assert "Left service" not in client.get(f"/people/{PERSON}/").content.decode()
    assert Person.objects.filter(code=PERSON).update(retired=True) == 1
    page = client.get(f"/people/{PERSON}/").content.decode()
    assert "Left service." in page
    assert "counts until it is called in" in page
    assert "Left service." in client.get(f"/people/?q={PERSON}").content.decode()
    Key.objects.filter(person=PERSON).update(revoked_at=evening.now)
    assert "counts until it is called in" not in client.get(f"/people/{PERSON}/").content.decode()


@pytest.mark.parametrize(
    "body", ["", "[]", "{}", '{"public_key": 1}', "[" * 4_000], ids=["", "list", "none", "number", "deep"]
)
def test_a_badge_without_a_key_is_a_bad_request(client: Client, evening: Evening, clerk: Any, body: str) -> None:
    sign_in(client)
    refused = client.post(f"/people/{PERSON}/badge/", body, content_type="application/json")
    assert (refused.status_code, refused.json()) == (400, {"detail": "There is no public key."})


def test_signing_out_sends_the_script_that_forgets(client: Client, evening: Evening) -> None:
    answer(client, ask(client), PERSON)
    page = client.post("/sign-out/")
    assert page.status_code == 200
    assert "js/pages/sign_out.js" in page.content.decode()
    assert "Clear-Site-Data" not in page.headers
    assert who(client)["person"] == ""


def test_a_badge_is_called_in_from_a_date(client: Client, evening: Evening, clerk: Any) -> None:
    """The time is local to the jurisdiction; one that is still to come is refused at its field."""
    sign_in(client)
    for wrong in ("2036-11-03T10:00", "0026-11-03T10:00", "0001-01-01T00:00", "yesterday"):
        refused = client.post(f"/people/{PERSON}/badge/revoke/", {"since": wrong})
        assert refused.status_code == 422, wrong
        assert "A day and time that have been" in refused.content.decode()
        assert f'value="{wrong}"' in refused.content.decode(), "what was typed stays to be put right"
    assert Key.objects.get(person=PERSON).revoked_at is None
    assert client.post(f"/people/{PERSON}/badge/revoke/", {"since": "2026-11-03T10:00"}).status_code == 302
    key = Key.objects.get(person=PERSON)
    assert key.revoked_at == evening.world.time("10:00")
    done = answer(Client(), ask(Client()), PERSON)
    assert (done.status_code, done.json()["code"]) == (403, "not-signed-in")


def test_who_left_service_is_signed_out_and_signs_in_no_more(client: Client, evening: Evening) -> None:
    assert answer(client, ask(client), PERSON).status_code == 200
    assert who(client)["person"] == PERSON
    Person.objects.filter(code=PERSON).update(retired=True)
    assert who(client).get("person") != PERSON
    done = answer(Client(), ask(Client()), PERSON)
    assert (done.status_code, done.json()["code"]) == (403, "not-signed-in")
