"""A whole handoff on the phone's page, done as a user does it, and checked as an outside program would check it."""

from __future__ import annotations

import base64
import json
import time
from collections.abc import Callable, Iterable, Iterator
from hashlib import sha256
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from django.db.backends.base.base import BaseDatabaseWrapper
from playwright.sync_api import Browser, Locator, Page, expect
from pytest_django.fixtures import Settings

from custody import clock, store
from custody.domain.entries import Handoff
from custody.domain.parsing import parse_entry
from tests.browser.departure import NAMES, PLACE, Departure, make_departure
from tests.browser.test_look import ENOUGH_RULES, TAGS, Scheme, open_page
from tests.web.evening import DRILL
from tests.world_register import JURISDICTION

pytestmark = pytest.mark.one_engine

GIVERS, TAKERS = ("CHIEF-P01", "WORKER-1-P01"), ("DRIVER-1-P01", "DRIVER-2-P01")
SECONDS_AT_MOST = 90
TYPING = 60
"""Milliseconds a key, by hand."""


@pytest.fixture
def departure(own_database: BaseDatabaseWrapper, settings: Settings, monkeypatch: pytest.MonkeyPatch) -> Departure:
    settings.CUSTODY_REHEARSAL = DRILL
    made = make_departure()
    monkeypatch.setattr(clock, "now", lambda: made.now)
    return made


class User:
    """Somebody at the page, who scans with a wedge: it types as fast as it can. `look` is called at every state."""

    def __init__(self, page: Page, departure: Departure, address: str) -> None:
        self.page, self.departure, self.address = page, departure, address
        self.look: Callable[[str], None] = lambda state: None

    def scan(self, text: str, *, delay: int = 0) -> None:
        self.page.keyboard.type(text, delay=delay)
        self.page.keyboard.press("Enter")

    def title(self, words: str) -> None:
        expect(self.page.get_by_role("heading", level=1)).to_have_text(words)
        self.look(words)

    def go_on(self) -> None:
        self.page.locator(".onward button").click()

    def choose_place(self) -> None:
        self.page.goto(f"{self.address}/work/")
        self.title("Which place is this?")
        self.page.get_by_role("button", name=f"Site {PLACE}").click()
        self.title(f"Site {PLACE}")

    def open(self) -> None:
        self.page.goto(f"{self.address}/work/hand-over/")
        self.title("Who hands over?")

    def name_people(self) -> None:
        for person in GIVERS:
            self.scan(self.departure.badges[person].text)
            expect(self.box(person)).to_be_checked()
        self.go_on()
        self.title("Who takes it?")
        for person in TAKERS:
            self.scan(self.departure.badges[person].text)
            expect(self.box(person)).to_be_checked()
        self.go_on()

    def box(self, person: str) -> Locator:
        return self.page.get_by_role("checkbox", name=NAMES[person])

    def scan_things(self) -> None:
        self.title("What goes?")
        for done, code in enumerate(self.departure.items, start=1):
            self.scan(code)
            expect(self.page.locator(".ticked")).to_have_count(done)
        self.look("all scanned")
        self.go_on()

    def read_seals(self) -> None:
        self.title("Read the seals")
        for item, point, number in self.departure.seals:
            expect(self.page.locator(".reading h2")).to_have_text(f"Seal: {point}")
            expect(self.page.locator(".reading .which")).to_contain_text(item)
            self.read(number)
            self.intact()
        expect(self.page.get_by_role("heading", name="All seals are read")).to_be_focused()
        self.look("all read")
        self.page.keyboard.press("Enter")

    def read(self, number: str) -> None:
        self.scan(number)

    def intact(self) -> None:
        """One key, since the button for the usual answer has the focus."""
        expect(self.page.get_by_role("button", name="Intact, and it holds")).to_be_focused()
        self.look("how is it")
        self.page.keyboard.press("Enter")

    def sign(self, people: Iterable[str]) -> None:
        self.title("Each of you signs")
        for person in people:
            expect(self.page.get_by_role("heading", name="Scan the next badge")).to_be_visible()
            self.give_badge(person)
            expect(self.page.locator(".signing .last")).to_have_text(f"{NAMES[person]} has signed.")
        self.look("signed")

    def give_badge(self, person: str, pin: str = "") -> None:
        badge = self.departure.badges[person]
        self.scan(badge.text)
        expect(self.page.locator("#pin")).to_be_focused()
        self.look("PIN")
        self.page.keyboard.type(pin or badge.pin)
        self.page.keyboard.press("Enter")

    def finish(self) -> None:
        """Everybody has signed: the button has the focus."""
        expect(self.page.get_by_role("button", name="Record it")).to_be_focused()
        self.page.keyboard.press("Enter")
        self.title("Saved on this phone")

    def until_review(self) -> None:
        self.open()
        self.name_people()
        self.scan_things()
        self.read_seals()
        self.title("Is this right?")

    def whole(self) -> None:
        self.until_review()
        self.go_on()
        self.sign([*GIVERS, *TAKERS])
        self.finish()


class Typist(User):
    """Types every seal number by hand, twice, as the page asks for it. Uses no pointer."""

    def go_on(self) -> None:
        button = self.page.locator(".onward button")
        for _ in range(60):
            if button.evaluate("button => button === document.activeElement"):
                break
            self.page.keyboard.press("Tab")
        self.page.keyboard.press("Enter")

    def read(self, number: str) -> None:
        self.scan(number, delay=TYPING)
        expect(self.page.get_by_text("Look again, and type it once more.")).to_be_visible()
        self.look("once more")
        self.scan(number, delay=TYPING)


@pytest.fixture
def user(browser: Browser, departure: Departure, server: str) -> Iterator[User]:
    page = open_page(browser, width=1280)
    yield User(page, departure, server)
    page.context.close()


def recorded(count: int) -> dict[str, Any]:
    """The envelope of the last line, once the log has so many."""
    log = store.open_log(JURISDICTION, DRILL)
    for _ in range(100):
        lines = list(store.read_lines(log))
        if len(lines) >= count:
            return dict(lines[-1].content()["envelope"])
        time.sleep(0.1)
    raise AssertionError(f"{len(lines)} lines, not {count}")


def pae(kind: bytes, payload: bytes) -> bytes:
    """DSSE v1.0.2, "PAE definition"."""
    return b"DSSEv1 %d %b %d %b" % (len(kind), kind, len(payload), payload)


def check(envelope: dict[str, Any], departure: Departure, people: Iterable[str]) -> Handoff:
    """Everybody's signature over the same bytes, and what these say."""
    payload = base64.b64decode(envelope["payload"], validate=True)
    signatures = {each["keyid"]: base64.b64decode(each["sig"], validate=True) for each in envelope["signatures"]}
    keys = [departure.badges[person].public_key for person in people]
    assert signatures.keys() == {sha256(key).hexdigest() for key in keys}
    for key in keys:
        signed = pae(envelope["payloadType"].encode(), payload)
        Ed25519PublicKey.from_public_bytes(key).verify(signatures[sha256(key).hexdigest()], signed)
    entry = parse_entry(json.loads(payload))
    assert isinstance(entry, Handoff)
    assert (entry.release.people, entry.receive.people) == (GIVERS, TAKERS)
    assert (entry.purpose, entry.site) == ("return", PLACE)
    assert sorted(entry.items) == sorted(departure.items)
    read = {(each.item, each.point, each.number) for each in entry.seals if each.state == "intact"}
    assert read == set(departure.seals)
    return entry


def size_of_log() -> int:
    return store.open_log(JURISDICTION, DRILL).size


def test_a_whole_handoff_by_wedge_scanner(user: User, departure: Departure) -> None:
    before = size_of_log()
    user.choose_place()
    began = time.monotonic()
    user.whole()
    assert time.monotonic() - began < SECONDS_AT_MOST
    entry = check(recorded(before + 1), departure, [*GIVERS, *TAKERS])
    assert abs(entry.at - departure.now) < SECONDS_AT_MOST


def test_a_whole_handoff_by_hand_and_keyboard_alone(browser: Browser, departure: Departure, server: str) -> None:
    before = size_of_log()
    user = Typist(open_page(browser, width=1280), departure, server)
    user.choose_place()
    user.whole()
    user.page.context.close()
    check(recorded(before + 1), departure, [*GIVERS, *TAKERS])


def test_a_reload_goes_on_where_it_was(user: User, departure: Departure) -> None:
    before = size_of_log()
    user.choose_place()
    user.open()
    user.name_people()
    user.title("What goes?")
    for code in departure.items[:5]:
        user.scan(code)
    expect(user.page.locator(".ticked")).to_have_count(5)
    user.page.reload()
    user.title("What goes?")
    expect(user.page.locator(".ticked")).to_have_count(5)
    for code in departure.items[5:]:
        user.scan(code)
    user.go_on()
    user.title("Read the seals")
    user.page.reload()
    user.read_seals()
    user.title("Is this right?")
    user.page.reload()
    user.title("Is this right?")
    user.go_on()
    user.sign([*GIVERS, *TAKERS])
    user.finish()
    check(recorded(before + 1), departure, [*GIVERS, *TAKERS])


def test_a_seal_that_differs_is_asked_about_once_and_then_recorded_as_read(user: User, departure: Departure) -> None:
    before = size_of_log()
    user.choose_place()
    user.open()
    user.name_people()
    user.title("What goes?")
    box, point, number = departure.seals[0]
    user.scan(box)
    user.go_on()
    user.title("Read the seals")
    expect(user.page.locator("body")).not_to_contain_text(number[-4:])
    user.read("S0007777")
    expect(user.page.get_by_text("Read it again?")).to_be_visible()
    expect(user.page.locator("body")).not_to_contain_text(number[-4:])
    user.read("S0007777")
    user.intact()
    first = user.page.locator(".readings li").first
    expect(first).to_contain_text("intact, not as on record")
    expect(first).to_contain_text(number[-4:])
    user.read(departure.seals[1][2])
    user.intact()
    user.page.keyboard.press("Enter")
    user.title("Is this right?")
    user.go_on()
    user.sign([*GIVERS, *TAKERS])
    user.finish()
    entry = parse_entry(json.loads(base64.b64decode(recorded(before + 1)["payload"])))
    assert isinstance(entry, Handoff)
    assert [(each.point, each.number) for each in entry.seals] == [(point, "S0007777"), departure.seals[1][1:]]


def test_a_wrong_pin_signs_nothing_and_a_missing_signature_hinders_nothing(user: User, departure: Departure) -> None:
    before = size_of_log()
    user.choose_place()
    user.until_review()
    user.go_on()
    user.title("Each of you signs")
    user.give_badge(GIVERS[0], pin="918273")
    expect(user.page.locator("#pin-fault")).to_contain_text("That PIN does not fit this badge")
    user.page.keyboard.type(departure.badges[GIVERS[0]].pin)
    user.page.keyboard.press("Enter")
    expect(user.page.locator(".signing .last")).to_have_text(f"{NAMES[GIVERS[0]]} has signed.")
    user.page.get_by_role("button", name="Record it without 3 signatures").click()
    user.title("Saved on this phone")
    check(recorded(before + 1), departure, GIVERS[:1])


def test_a_badge_of_somebody_who_is_not_named_leads_back_to_the_review(user: User, departure: Departure) -> None:
    user.choose_place()
    user.until_review()
    user.go_on()
    user.title("Each of you signs")
    user.give_badge(GIVERS[0])
    expect(user.page.locator(".signing .last")).to_have_text(f"{NAMES[GIVERS[0]]} has signed.")
    third = "WORKER-2-P01"
    user.scan(departure.badges[third].text)
    expect(user.page.get_by_role("heading", name=f"{NAMES[third]} is not named in this.")).to_be_focused()
    user.page.get_by_role("button", name=f"{NAMES[third]} hands over too").click()
    user.title("Is this right?")
    expect(user.page.locator(".says")).to_contain_text(NAMES[third])
    user.go_on()
    expect(user.page.locator(".end .ticked")).to_have_count(0)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_axe_finds_nothing_at_any_step(
    browser: Browser, departure: Departure, server: str, width: int, scheme: Scheme
) -> None:
    user = Typist(open_page(browser, width=width, scheme=scheme), departure, server)
    seen: dict[str, list[Any]] = {}

    def look(state: str) -> None:
        if state not in seen:
            response = Axe().run(user.page, options={"runOnly": TAGS}).response
            assert len(response["passes"]) > ENOUGH_RULES, state
            seen[state] = [(each["id"], [node["html"] for node in each["nodes"]]) for each in response["violations"]]

    user.look = look
    user.choose_place()
    user.whole()
    user.page.goto(f"{server}/work/missing/")
    user.title("Still missing here")
    user.page.context.close()
    assert len(seen) == 16
    assert {state: found for state, found in seen.items() if found} == {}


@pytest.mark.parametrize("width", [320, 640])
def test_nothing_scrolls_sideways_and_targets_are_large(
    browser: Browser, departure: Departure, server: str, width: int
) -> None:
    """WCAG 2.2, 1.4.10 (320 CSS pixels) and 1.4.4 (a page of 1,280 pixels at 200 %); targets as 2.5.5 has them."""
    user = Typist(open_page(browser, width=width), departure, server)
    seen: dict[str, Any] = {}

    def look(state: str) -> None:
        small = [
            (each.inner_text(), box["height"])
            for each in user.page.locator("button:visible, select:visible, summary:visible, .choice:visible").all()
            if (box := each.bounding_box()) and round(box["height"]) < 44
        ]
        seen[state] = (user.page.evaluate("document.documentElement.scrollWidth"), small)

    user.look = look
    user.choose_place()
    user.whole()
    user.page.context.close()
    assert seen == dict.fromkeys(seen, (width, []))


def test_a_phone_that_knows_no_place_says_to_sign_in(
    browser: Browser, departure: Departure, server: str, settings: Settings
) -> None:
    settings.CUSTODY_REHEARSAL = ""
    page = open_page(browser, width=360)
    page.goto(f"{server}/work/hand-over/")
    page.get_by_role("link", name="Choose the place").click()
    expect(page.get_by_text("Sign in first: then this phone may fetch")).to_be_visible()
    assert page.get_by_role("link", name="Sign in").get_attribute("href") == "/sign-in/?next=/work/"
    page.context.close()
