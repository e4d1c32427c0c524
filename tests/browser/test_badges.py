"""Badges in a real browser: made by the office, used to sign in, guessed at, called in. The server never sees secret or PIN."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterator

import pytest
from django.contrib.auth import get_user_model
from nacl.signing import SigningKey
from playwright.sync_api import Browser, Page, expect

from custody.models.register import Key
from tests.browser.looking import faults, open_page
from tests.web.evening import Evening
from tests.world_register import JURISDICTION

pytestmark = pytest.mark.one_engine

PERSON, PIN = "CHIEF-P02", "804172"
PASSWORD = "sixteen herons fly"
CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


@pytest.fixture
def page(browser: Browser, address: str, evening: Evening) -> Iterator[Page]:
    """The page of a person, before somebody of the office."""
    get_user_model().objects.create_user("clerk", password=PASSWORD, is_staff=True)
    page = open_page(browser, width=360)
    page.goto(f"{address}/sign-in/?next=/people/{PERSON}/")
    page.get_by_label("Username").fill("clerk")
    page.get_by_label("Password").fill(PASSWORD)
    page.locator("form.panel button").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Clover Kettlewick")
    yield page
    page.context.close()


def choose_pin(page: Page, first: str, second: str) -> None:
    page.get_by_label("PIN", exact=True).fill(first)
    page.get_by_label("The same PIN once more").fill(second)
    page.keyboard.press("Enter")


def enrol(page: Page) -> str:
    """Make a badge; what stands on it."""
    page.get_by_role("button", name="Make a badge").click()
    choose_pin(page, PIN, PIN)
    expect(page.get_by_role("heading", name=re.compile("The badge is valid"))).to_be_focused(timeout=20_000)
    typed = page.locator(".card-typed .code").inner_text()
    return typed.replace(" ", "").replace("-", "").replace(PERSON.replace("-", ""), PERSON)


def sign_in(page: Page, address: str, badge: str, pin: str) -> None:
    page.goto(f"{address}/sign-in/")
    page.get_by_label("Scan a badge, or type what stands on it").fill(badge)
    page.keyboard.press("Enter")
    page.get_by_label(f"PIN of {PERSON}").fill(pin)
    page.keyboard.press("Enter")


def secret_of(badge: str) -> bytes:
    number = 0
    for symbol in badge.split(":")[2][:26]:
        number = number * 32 + CROCKFORD.index(symbol)
    return number.to_bytes(16, "big")


def test_a_badge_is_made_used_guessed_at_and_called_in(browser: Browser, address: str, page: Page) -> None:
    sent: list[str] = []
    page.on("request", lambda request: sent.append(f"{request.url} {request.post_data or ''}"))
    badge = enrol(page)
    secret = secret_of(badge)
    # RFC 8018 PBKDF2 by hashlib, RFC 8032 by libsodium: the register holds the key that they give.
    seed = hashlib.pbkdf2_hmac("sha256", PIN.encode(), b"custody-badge-v1" + secret, 600_000, 32)
    public = base64.b64encode(SigningKey(seed).verify_key.encode()).decode()
    keys = Key.objects.filter(jurisdiction=JURISDICTION, person=PERSON)
    assert keys.get(public_key=public).valid_until is None
    assert [each.valid_until is None for each in keys.exclude(public_key=public)] == [False]
    everything = " ".join(sent)
    assert "public_key" in everything
    assert PIN not in everything
    assert badge.split(":")[2] not in everything

    phone = open_page(browser, width=360)
    sign_in(phone, address, badge, PIN)
    phone.wait_for_url(f"{address}/at-work/")
    assert phone.evaluate("fetch('/sign-in/who/').then((answer) => answer.json())")["person"] == PERSON
    phone.context.close()

    other = open_page(browser, width=360)
    for wrong in range(10):
        sign_in(other, address, badge, f"90817{wrong}")
        expect(other.locator("#pin-fault")).to_contain_text("Badge and PIN do not go together", timeout=20_000)
    sign_in(other, address, badge, PIN)
    expect(other.locator("#pin-fault")).to_contain_text("switched off", timeout=20_000)

    page.reload()
    page.get_by_role("button", name="Let them try again").click()
    sign_in(other, address, badge, PIN)
    other.wait_for_url(f"{address}/at-work/")

    page.goto(f"{address}/people/{PERSON}/")
    page.get_by_text("The badge is lost").click()
    page.get_by_role("button", name="Call it in").click()
    expect(page.locator("tbody tr").first).to_contain_text("called in")
    # The session ends with the badge: nobody is signed in any more.
    assert other.evaluate("fetch('/sign-in/who/').then((answer) => answer.json())")["person"] == ""
    sign_in(other, address, badge, PIN)
    expect(other.locator("#pin-fault")).to_contain_text("not valid any more", timeout=20_000)
    other.context.close()


@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        ("12345", "12345", "At least six digits"),
        ("123456", "123456", "Many people would choose this one"),
        ("80417a", "80417a", "digits only"),
        ("804172", "804173", "not the same"),
    ],
)
def test_a_pin_that_will_not_do_is_said_at_the_field(page: Page, first: str, second: str, words: str) -> None:
    page.get_by_role("button", name="Make a badge").click()
    choose_pin(page, first, second)
    expect(page.locator("#pin-fault")).to_contain_text(words)
    expect(page.get_by_label("PIN", exact=True)).to_be_focused()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 1280])
def test_axe_finds_nothing_at_any_state(page: Page, address: str, width: int, scheme: str) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    found = {}

    def look(state: str) -> None:
        found[state] = faults(page)
        assert page.evaluate("document.documentElement.scrollWidth") == width, state

    look("person")
    page.get_by_role("button", name="Make a badge").click()
    look("choosing a PIN")
    choose_pin(page, PIN, PIN)
    expect(page.locator(".card")).to_be_visible(timeout=20_000)
    look("the badge")
    page.get_by_role("button", name="I have printed it").click()
    expect(page.locator(".card")).to_have_count(0)
    page.goto(f"{address}/people/")
    look("people")
    page.goto(f"{address}/second-factor/")
    look("second factor")
    page.get_by_role("button", name=re.compile("Sign out")).click()
    expect(page.get_by_text("Nothing is left on this device.")).to_be_visible()
    look("signed out")
    page.goto(f"{address}/sign-in/")
    look("sign-in")
    assert {state: violations for state, violations in found.items() if violations} == {}


def test_signing_out_takes_all_off_the_phone_but_what_was_not_sent(page: Page, address: str, evening: Evening) -> None:
    page.goto(f"{address}/at-work/")
    page.get_by_role("button", name="Site P02").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Site P02")
    page.route("**/api/v1/entries/", lambda route: route.abort())
    kept = "import('/static/custody/js/phone/outbox.js')"
    page.evaluate(f"(envelope) => {kept}.then((it) => it.add(envelope, 'An act'))", evening.lone.envelope())
    page.goto(address)
    page.get_by_role("button", name=re.compile("Sign out")).click()
    expect(page.locator("#forgotten")).to_have_text("Saved on this phone · 1 to send")
    assert page.evaluate(f"{kept}.then((it) => it.count())") == {"waiting": 1, "parked": 0}
    assert page.evaluate("import('/static/custody/js/phone/pocket.js').then((it) => it.current())") is None


def test_a_challenge_for_another_address_is_not_signed(page: Page, address: str) -> None:
    badge = enrol(page)
    page.get_by_role("button", name="I have printed it").click()
    page.get_by_role("button", name=re.compile("Sign out")).click()
    members = {
        "origin": "https://elsewhere.example",
        "nonce": "0" * 64,
        "expiry": "2036-11-04T04:00:00Z",
        "person": PERSON,
    }
    page.route("**/sign-in/challenge/", lambda route: route.fulfill(json=members))
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.url))
    sign_in(page, address, badge, PIN)
    expect(page.locator("#pin-fault")).to_contain_text("came from another address", timeout=20_000)
    assert [each for each in sent if "/sign-in/badge/" in each] == []


def test_a_badge_scanned_into_a_field_of_a_page_sends_its_person_alone(
    browser: Browser, address: str, evening: Evening
) -> None:
    """Also one that was read wrongly: what stands in an address is kept by histories and by the logs of servers."""
    page = open_page(browser, width=1280)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    for path, field, button in (
        ("/", "#find", "Find"),
        ("/moment/", "#id_person", "Show"),
        ("/findings/", "#by-person", "Show"),
    ):
        page.goto(address + path)
        page.fill(field, "cb1:CHIEF-P02:0123456789ABCDEFGHJKMNPQRSX")
        page.get_by_role("button", name=button, exact=True).click()
        page.wait_for_url("**CHIEF-P02**")
    page.context.close()
    assert any("CHIEF-P02" in url for url in asked)
    assert [url for url in asked if "0123456789" in url] == []
