"""Somebody at the phone's pages, who hands things over."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from playwright.sync_api import Locator, Page, expect

from tests.browser.departure import NAMES, PLACE, Badge, Departure
from tests.browser.keys import HAND, WEDGE, type_keys
from tests.browser.looking import faults

GIVERS, TAKERS = ("CHIEF-P01", "WORKER-1-P01"), ("DRIVER-1-P01", "DRIVER-2-P01")


class Hand:
    """Somebody at the phone's pages, who scans with a wedge: it types as fast as it can. `look` is called at every state.

    `badges` and `names` are of people by code.
    """

    def __init__(self, page: Page, address: str, badges: Mapping[str, Badge], names: Mapping[str, str]) -> None:
        self.page, self.address, self.badges, self.names = page, address, badges, names
        self.scans = self.presses = self.pins = 0
        self.look: Callable[[str], None] = lambda state: None

    def press(self) -> None:
        """Enter, where the focus is."""
        self.presses += 1
        self.page.keyboard.press("Enter")

    def scan(self, text: str, *, every: float = WEDGE) -> None:
        self.scans += 1
        type_keys(self.page, text, every=every)

    def title(self, words: str) -> None:
        expect(self.page.get_by_role("heading", level=1)).to_have_text(words)
        self.look(words)

    def go_on(self) -> None:
        self.presses += 1
        self.page.locator(".onward button").click()

    def work_at(self, place: str) -> None:
        """By its name."""
        self.page.goto(f"{self.address}/at-work/")
        self.title("Which place is this?")
        self.page.get_by_role("button", name=place).click()
        self.title(place)

    def open(self, act: str = "hand-over", title: str = "Who hands over?") -> None:
        self.page.goto(f"{self.address}/at-work/{act}/")
        self.title(title)

    def name(self, people: Iterable[str]) -> None:
        for person in people:
            self.scan(self.badges[person].text)
            expect(self.box(person)).to_be_checked()
        self.go_on()

    def box(self, person: str) -> Locator:
        return self.page.get_by_role("checkbox", name=self.names[person])

    def read(self, number: str) -> None:
        self.scan(number)

    def intact(self) -> None:
        """One key, since the button for the usual answer has the focus."""
        expect(self.page.get_by_role("button", name="Intact, and it holds")).to_be_focused()
        self.look("how is it")
        self.press()

    def sign(self, people: Iterable[str]) -> None:
        self.title("Each of you signs")
        for person in people:
            expect(self.page.get_by_role("heading", name="Scan the next badge")).to_be_visible()
            self.give_badge(person)
            expect(self.page.locator(".signing .last")).to_have_text(f"{self.names[person]} has signed.")
        self.look("signed")

    def give_badge(self, person: str, pin: str = "") -> None:
        badge = self.badges[person]
        self.scan(badge.text)
        expect(self.page.locator("#pin")).to_be_focused()
        self.look("PIN")
        self.pins += 1
        self.page.keyboard.type(pin or badge.pin)
        self.press()

    def finish(self) -> None:
        """Everybody has signed: the button has the focus."""
        expect(self.page.get_by_role("button", name="Record it")).to_be_focused()
        self.press()
        self.title("Saved on this phone")


class User(Hand):
    """Somebody at a place before its drivers leave. A test may call the parts, or do the whole."""

    def __init__(self, page: Page, departure: Departure, address: str) -> None:
        super().__init__(page, address, departure.badges, NAMES)
        self.departure = departure

    def choose_place(self, place: str = PLACE) -> None:
        self.work_at(f"Site {place}")

    def name_people(self) -> None:
        self.name(GIVERS)
        self.title("Who takes it?")
        self.name(TAKERS)

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
        self.press()

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


@contextmanager
def looked_at(user: Hand, *, width: int, states: int) -> Iterator[None]:
    """At so many states or more axe finds nothing, and nothing scrolls sideways (WCAG 2.2, 1.4.10); then the page is closed."""
    page, found = user.page, dict[str, list[Any]]()

    def look(state: str) -> None:
        found[state] = faults(page)
        assert page.evaluate("document.documentElement.scrollWidth") == width, state

    user.look = look
    yield
    page.context.close()
    assert len(found) >= states
    assert {state: violations for state, violations in found.items() if violations} == {}


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
        self.scan(number, every=HAND)
        expect(self.page.locator("#act").get_by_text("Look again, and type it once more.")).to_be_visible()
        self.look("once more")
        self.scan(number, every=HAND)
