"""Every other act at a place, by keyboard alone: done in the page, recorded by the log, and found as the page foresaw."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, expect

from custody import store
from custody.ledger.base64 import parse_base64
from custody.ledger.canonical import parse_canonical
from custody.queries.findings import list_findings
from tests.browser.departure import Departure
from tests.browser.handing import GIVERS, Typist, looked_at
from tests.browser.looking import open_page
from tests.web.evening import DRILL
from tests.world_register import JURISDICTION

pytestmark = pytest.mark.one_engine


class Worker(Typist):
    """Somebody who goes through an act without a pointer."""

    def do(self, act: str, first: str, *answers: Callable[[], None]) -> dict[str, Any]:
        """Go through it; the members of the entry that came of it."""
        before = head().size
        self.open(act, first)
        for answer in answers:
            answer()
        self.title("Is this right?")
        self.foreseen = {each.get_attribute("data-rule") for each in self.page.locator(".finds li").all()}
        self.go_on()
        self.sign(GIVERS)
        self.finish()
        expect(self.page.locator("#outbox-status")).to_have_text("All sent")
        (line,) = store.read_lines(head(), before)
        members = parse_canonical(parse_base64(line.content()["envelope"]["payload"]))
        listed = [each.finding for each in list_findings(head(), now=self.departure.now + 60)]
        self.found = {each.rule for each in listed if members["id"] in each.entries}
        return members

    def people(self) -> None:
        self.title("Who does this?")
        for person in GIVERS:
            if not self.box(person).is_checked():
                self.scan(self.departure.badges[person].text)
            expect(self.box(person)).to_be_checked()
        self.go_on()

    def things(self, *codes: str) -> Callable[[], None]:
        def scan() -> None:
            for done, code in enumerate(codes, start=1):
                self.scan(code)
                expect(self.page.locator(".ticked")).to_have_count(done)
            self.look("things")
            self.go_on()

        return scan

    def one(self, code: str) -> Callable[[], None]:
        def scan() -> None:
            self.look("one thing")
            self.scan(code)

        return scan

    def choose(self, words: str) -> Callable[[], None]:
        def press() -> None:
            self.page.get_by_role("radio", name=words).press("Space")
            self.look(words)
            self.go_on()

        return press

    def readings(self, *numbers: str) -> Callable[[], None]:
        def read() -> None:
            for number in numbers:
                self.read(number)
                self.intact()
            expect(self.page.get_by_role("heading", name="All seals are read")).to_be_focused()
            self.go_on()

        return read


def head() -> store.LogHead:
    return store.open_log(JURISDICTION, DRILL)


@pytest.fixture
def worker(browser: Browser, departure: Departure, server: str) -> Iterator[Worker]:
    made = Worker(open_page(browser, width=320), departure, server)
    made.choose_place()
    with looked_at(made, width=320, states=6):
        yield made


def box_of(departure: Departure) -> tuple[str, list[tuple[str, str]]]:
    """A sealed ballot container, with its points and numbers in the order of the register."""
    box = sorted(departure.world.kits["P01"].containers)[0]
    return box, [(point, number) for item, point, number in departure.seals if item == box]


def test_seals_are_read(worker: Worker, departure: Departure) -> None:
    box, seals = box_of(departure)
    members = worker.do(
        "read-seals", "Who does this?", worker.people, worker.things(box), worker.readings(*(n for _, n in seals))
    )
    assert members["kind"] == "inspect"
    assert members["seals"] == [
        {"item": box, "point": point, "number": number, "state": "intact"} for point, number in seals
    ]
    assert (worker.foreseen, worker.found) == (set(), set())


def test_seals_come_off_and_others_go_on(worker: Worker, departure: Departure) -> None:
    box, seals = box_of(departure)
    numbers = [number for _, number in seals]
    off = worker.do(
        "remove-seals",
        "Who does this?",
        worker.people,
        worker.choose("Replacing a seal"),
        worker.things(box),
        worker.readings(*numbers),
    )
    assert (off["kind"], off["reason"]) == ("unseal", "replace_seal")
    assert (worker.foreseen, worker.found) == (set(), set())
    fresh = departure.world.loose["P01"][: len(seals)]

    def put_on() -> None:
        for number in fresh:
            worker.read(number)
        expect(worker.page.get_by_role("heading", name="All seals are on")).to_be_focused()
        worker.look("all on")
        worker.go_on()

    on = worker.do("apply-seals", "Who does this?", worker.people, worker.things(box), put_on)
    assert [each["number"] for each in on["seals"]] == fresh
    assert {each["state"] for each in on["seals"]} == {"intact"}
    assert worker.foreseen == worker.found


def test_what_is_packed_in_something_sealed_is_foreseen_and_found(worker: Worker, departure: Departure) -> None:
    box, _ = box_of(departure)
    book = departure.items[-1]
    members = worker.do("pack", "Who does this?", worker.people, worker.one(box), worker.things(book))
    assert (members["kind"], members["container"], members["items"]) == ("pack", box, [book])
    assert worker.foreseen == worker.found == {"opened-while-sealed"}
    out = worker.do("unpack", "Who does this?", worker.people, worker.one(box), worker.things(book))
    assert (out["kind"], out["container"], out["items"]) == ("unpack", box, [book])


def test_figures_are_counted(worker: Worker, departure: Departure) -> None:
    def figures() -> None:
        worker.page.get_by_label("Ballots received").fill("2001")
        worker.page.get_by_label("Unused ballots").fill("1166")
        worker.page.get_by_label("Ballots cast").fill("788")
        worker.page.get_by_label("Spoiled ballots").fill("16")
        worker.page.get_by_label("Provisional ballots").fill("31")
        # The published chief judge's worksheet of a North Carolina precinct, 6 November 2012.
        expect(worker.page.get_by_text("Used: 2001 − 1166 = 835.")).to_be_visible()
        expect(worker.page.get_by_text("That is what was used.")).to_be_visible()
        worker.look("figures")
        worker.go_on()

    def place() -> None:
        worker.page.get_by_role("radio", name="The whole place").press("Space")
        worker.go_on()

    members = worker.do("count", "Who does this?", worker.people, place, figures)
    assert members["subject"] == "P01"
    assert members["figures"] == {
        "ballots_received": 2001,
        "ballots_unused": 1166,
        "ballots_cast": 788,
        "ballots_spoiled": 16,
        "ballots_provisional": 31,
    }


def test_a_step_is_done(worker: Worker, departure: Departure) -> None:
    def who() -> None:
        for person in GIVERS:
            worker.scan(departure.badges[person].text)
            expect(worker.box(person)).to_be_checked()
        worker.go_on()

    members = worker.do("steps", "Which step is done?", worker.choose("Scanner locked"), who, worker.things())
    assert (members["kind"], members["step"]) == ("step", "unit_locked")
    assert "items" not in members
    assert worker.foreseen == worker.found == set()


def test_an_incident_is_reported(worker: Worker, departure: Departure) -> None:
    def words() -> None:
        worker.page.get_by_label("What happened, when, and what you did").fill("The door was open at six.")
        worker.look("in words")
        worker.go_on()

    def who() -> None:
        for person in GIVERS:
            worker.scan(departure.badges[person].text)
            expect(worker.box(person)).to_be_checked()
        worker.go_on()

    def no_photo() -> None:
        worker.title("Photos, if they help")
        worker.go_on()

    members = worker.do("incident", "What happened?", worker.choose("Other"), worker.things(), words, no_photo, who)
    assert (members["kind"], members["category"], members["note"]) == ("incident", "other", "The door was open at six.")
    assert members["items"] == []
    assert "photos" not in members
