"""The people of the invented county at their screens: with a phone at a door or a desk, and in the night office."""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

from playwright.sync_api import Browser, Locator, Page, expect

from tests.browser.county import County
from tests.browser.handing import Hand
from tests.browser.looking import faults, open_page
from tests.browser.test_night_refresh import ROUND
from tests.management.test_commands import ask

OFFICE, PASSWORD = "office", "sixteen herons fly"
CLERKS = ("RS-1", "RS-2")
PLACES = 26
WORDS = {"Overdue": "overdue", "Silent": "silent", "On the way": "on_the_way", "At work": "at_work", "In": "back"}
SOON = 30_000
"""Milliseconds that a step may take on a busy machine: keys are made from badges, a night is worked out."""
Listed = dict[str, Any]
"""One thing of a command's JSON."""


class Person(Hand):
    """Somebody of the county who signed in at a phone by badge and chose the place."""

    def __init__(self, browser: Browser, county: County, address: str, person: str, place: str) -> None:
        super().__init__(open_page(browser, width=360), address, county.badges, county.names)
        self.county = county
        self.seen: dict[str, list[Any]] = {}
        sign_in_by_badge(self.page, address, county, person)
        self.work_at(county.sites[place])

    def brings_up_to_date(self) -> None:
        """What the phone knows of the place, and its clock after the county's went on."""
        self.page.goto(f"{self.address}/at-work/")
        with self.page.expect_navigation():
            self.page.get_by_role("button", name="Bring up to date").click()

    def look_with_axe(self) -> None:
        """From now on, once at every step that has a title of its own."""

        def look(state: str) -> None:
            if state not in self.seen:
                self.seen[state] = faults(self.page)

        self.look = look

    def hands_over(self, place: str, givers: tuple[str, ...], takers: tuple[str, ...]) -> None:
        """What the drivers of a place take, at its door."""
        self.open()
        self.name(givers)
        self.title("Who takes it?")
        self.name(takers)
        self.title("What goes?")
        self.scan_all(self.county.loads[place])
        self.go_on()
        self.read_seals()
        self.sign_and_send([*givers, *takers])

    def scan_all(self, codes: list[str]) -> None:
        for code in codes:
            self.scan(code)
            expect(self.line(code).locator(".tick-word")).to_have_text("scanned")

    def line(self, code: str) -> Locator:
        return self.page.locator(".ticks > li").filter(has_text=code)

    def takes_in(self, place: str, codes: list[str], bringers: tuple[str, ...], *, short: dict[str, str]) -> str:
        """At the desk. `short` is what the page must say of each thing that is not there. The address of the receipt."""
        self.open("return-desk", "Which place has come in?")
        self.scan(place)
        self.title(f"What has come from {self.county.sites[place]}?")
        self.scan_all(codes)
        self.go_on()
        if short:
            self.title(f"Not here yet: {len(short)}")
            for code, words in short.items():
                expect(self.line(code)).to_contain_text(words)
            self.go_on()
        self.title("Who brings it?")
        for person in bringers:
            expect(self.box(person)).to_be_checked()
        self.go_on()
        self.title("Who receives?")
        self.name(person for person in CLERKS if not self.box(person).is_checked())
        self.read_seals()
        self.sign_and_send([*bringers, *CLERKS])
        return str(self.page.get_by_role("link", name="Receipt to print or show").get_attribute("href"))

    def read_seals(self) -> None:
        """Those that the page asks for, as they are in place; of things that have seals."""
        heading = self.page.get_by_role("heading", level=1)
        expect(heading).to_have_text(re.compile("Read the seals|Is this right"))
        if heading.inner_text() == "Is this right?":
            return
        tally = self.page.locator(".readings .tally")
        wanted = int(tally.inner_text().split()[2])
        for done in range(wanted):
            expect(tally).to_have_text(f"{done} of {wanted} seals read")
            which = self.page.locator(".reading .which").inner_text()
            point = self.page.locator(".reading h2").inner_text().removeprefix("Seal: ")
            (number,) = [each for (item, at), each in self.county.seals.items() if item in which and at == point]
            self.read(number)
            self.intact()
        self.press()

    def sign_and_send(self, people: list[str]) -> None:
        self.title("Is this right?")
        self.go_on()
        self.sign(people)
        self.finish()
        expect(self.page.locator("#outbox-status")).to_have_text("All sent")

    def leave(self) -> None:
        self.page.context.close()
        assert {state: found for state, found in self.seen.items() if found} == {}


def sign_in_by_badge(page: Page, address: str, county: County, person: str) -> None:
    page.goto(f"{address}/sign-in/")
    page.get_by_label("Scan a badge, or type what stands on it").fill(county.badges[person].text)
    page.keyboard.press("Enter")
    page.get_by_label(f"PIN of {person}").fill(county.badges[person].pin)
    page.keyboard.press("Enter")
    page.wait_for_url(lambda url: "/sign-in/" not in url, timeout=SOON)


def sign_in_by_name(page: Page, address: str, path: str = "/") -> None:
    page.goto(f"{address}/sign-in/?next={path}")
    page.get_by_label("Username").fill(OFFICE)
    page.get_by_label("Password").fill(PASSWORD)
    page.locator("form.panel button").click()
    page.wait_for_url(f"{address}{path}")


def figure(page: Page, words: str) -> Locator:
    """What stands under a word in the figures at the top of a page."""
    titled = page.locator("dt").filter(has_text=re.compile(rf"^\s*{words}\s*$"))
    return page.locator("dl.figures > div").filter(has=titled).locator("dd")


def number(page: Page, words: str) -> int:
    return int(figure(page, words).inner_text().split()[0])


def expect_number(page: Page, words: str, wanted: int) -> None:
    expect(figure(page, words)).to_have_text(re.compile(rf"^\s*{wanted}\b"))


class Office:
    """The night office: a screen with the page of the night, which refreshes by itself, and another to look things up."""

    def __init__(self, browser: Browser, county: County, address: str) -> None:
        self.county, self.address = county, address
        self.screen, self.desk = (open_page(browser, width=1280) for _ in range(2))
        for page in (self.screen, self.desk):
            sign_in_by_name(page, address)
        self.screen.clock.install()
        self.screen.goto(f"{address}/night/")

    def go(self, path: str) -> Page:
        self.desk.goto(self.address + path)
        return self.desk

    def sees(self, *, owed: int, **states: int) -> None:
        """These figures, after the screen has refreshed itself; and on every page those that the commands give."""
        listed = ask("outstanding")
        assert len(listed) == owed
        self.screen.clock.fast_forward(ROUND)
        self.sees_the_places(self.screen, listed, states)
        self.sees_who_holds_what(listed)
        self.sees_the_places(self.go("/night/wall/"), listed, states)
        self.sees_the_start(listed)

    def sees_the_places(self, page: Page, listed: list[Listed], states: dict[str, int]) -> None:
        out = Counter(each["site"] for each in listed)
        carried = {each["site"] for each in listed if each["holder"]["role"] == "courier"}
        assert states["on_the_way"] + states["overdue"] == len(carried)
        assert states["at_work"] + states["silent"] == len(out.keys() - carried)
        assert states["back"] == PLACES - len(out)
        for words, state in WORDS.items():
            expect_number(page, words, states[state])
        expect_number(page, "items not back yet", len(listed))
        if page is self.screen:
            script = "rows => rows.map(row => [row.querySelector('th .code').textContent, row.cells[3].textContent])"
            rows = dict(page.locator("#night-places tbody tr").evaluate_all(script))
            assert {site: int(count) for site, count in rows.items()} == dict.fromkeys(rows, 0) | out
            assert len(rows) == PLACES

    def sees_who_holds_what(self, listed: list[Listed]) -> None:
        held = Counter(tuple(sorted(each["holder"]["people"])) for each in listed)
        wanted = Counter(
            (", ".join(sorted(self.county.names[each] for each in people)), n) for people, n in held.items()
        )
        rows = self.screen.locator("#night-who .holding")
        shown: Counter[tuple[str, int]] = Counter()
        for who, items in zip(
            rows.locator(".who").all_inner_texts(), rows.locator("p > b").all_inner_texts(), strict=True
        ):
            names = sorted(name for name in self.county.names.values() if name in who)
            shown[", ".join(names), int(items.split()[0])] += 1
        assert shown == wanted

    def sees_the_start(self, listed: list[Listed]) -> None:
        found = Counter(each["severity"] for each in ask("findings") if not each.get("waiting"))
        page, out = self.go("/"), {each["site"] for each in listed}
        assert (number(page, "places in"), number(page, "places not in")) == (PLACES - len(out), len(out))
        assert number(page, "items not back yet") == len(listed) == page.locator(".things > li").count()
        words = {"critical": "critical findings?", "warning": "warnings?", "notice": "notices?"}
        assert {each: number(page, words[each]) for each in words} == {each: found[each] for each in words}

    def finds(self, query: str, listed: list[Listed]) -> None:
        """On the page of findings, those that the command lists."""
        page = self.go(f"/findings/{query}")
        expect(page.locator(".findings > li")).to_have_count(len(listed))
        for each in listed:
            expect(page.locator(f".findings a[href='/findings/{each['key']}']").first).to_be_visible()

    def leave(self) -> None:
        for page in (self.screen, self.desk):
            page.context.close()
