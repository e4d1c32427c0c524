"""Putting an entry right from its page: what was wrong, how it should read, why; and what the page holds back or foresees."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import Browser, Page, expect

from custody import store
from custody.domain.instants import dump_instant
from custody.domain.parsing import MEMBERS
from custody.domain.values import NEVER_REPLACED
from custody.domain.vocabulary import Category, DisposalMethod, Figure, Outcome, Purpose, StepName, UnsealReason
from custody.ledger.base64 import parse_base64
from custody.ledger.canonical import dump_canonical, parse_canonical
from custody.queries.entry import get_entry
from custody.queries.findings import list_findings
from custody.services.record import Arrival, Receipt, record_entries
from tests.browser.departure import PLACE, Departure
from tests.browser.handing import GIVERS, User, looked_at
from tests.browser.looking import open_page
from tests.browser.test_phone_facts import ask
from tests.web.evening import DRILL
from tests.world_acts import Deed
from tests.world_register import JURISDICTION

pytestmark = pytest.mark.one_engine

REASON = "I had the list of the morning in hand; the sheet on the door says it."


def head() -> store.LogHead:
    return store.open_log(JURISDICTION, DRILL)


def put(departure: Departure, deed: Deed) -> Deed:
    (receipt,) = record_entries(head(), [Arrival(envelope=dump_canonical(deed.envelope()), received=departure.now)])
    assert isinstance(receipt, Receipt)
    return deed


class Chief(User):
    """Somebody who puts right what was signed before."""

    def until_wrong(self, deed: Deed, *, wrong: Sequence[str]) -> None:
        self.page.goto(f"{self.address}/entries/{deed.id}/")
        self.page.get_by_role("link", name="Put it right").click()
        self.title("This entry")
        expect(self.page.locator("#act .facts")).to_be_visible()
        self.look("told")
        self.go_on()
        self.title("What is wrong?")
        for member in wrong:
            self.page.get_by_role("checkbox", name=member).check()
        self.go_on()

    def until_review(self, people: Sequence[str] = GIVERS, role: str = "") -> None:
        self.title("Why is it changed?")
        self.page.get_by_label("How it came about").fill(REASON)
        self.go_on()
        self.title("Photos, if they help")
        self.go_on()
        self.title("Who puts it right?")
        for person in people:
            if not self.box(person).is_checked():
                self.scan(self.departure.badges[person].text)
            expect(self.box(person)).to_be_checked()
        if role:
            self.page.get_by_label("They answer as").select_option(label=role)
        self.go_on()
        self.title("Is this right?")
        self.foreseen = {each.get_attribute("data-rule") for each in self.page.locator(".finds li").all()}

    def sign_and_send(self, people: Sequence[str] = GIVERS) -> dict[str, Any]:
        before = head().size
        self.go_on()
        self.sign(people)
        self.finish()
        expect(self.page.locator("#outbox-status")).to_have_text("All sent")
        (line,) = store.read_lines(head(), before)
        members: dict[str, Any] = parse_canonical(parse_base64(line.content()["envelope"]["payload"]))
        listed = [each.finding for each in list_findings(head(), now=self.departure.now + 600)]
        self.found = {each.rule for each in listed if members["id"] in each.entries}
        return members

    def lacking(self, words: str) -> None:
        self.go_on()
        expect(self.page.locator("#act > .lacking")).to_contain_text(words)


@pytest.fixture(params=[320, 1280])
def chief(browser: Browser, departure: Departure, server: str, request: pytest.FixtureRequest) -> Iterator[Chief]:
    made = Chief(open_page(browser, width=request.param), departure, server)
    made.choose_place()
    with looked_at(made, width=request.param, states=1):
        yield made


def test_figures_and_a_time_are_put_right(chief: Chief, departure: Departure) -> None:
    world = departure.world
    deed = put(departure, world.count(PLACE, world.chief(PLACE), {"ballots_cast": 788, "ballots_spoiled": 61}))
    chief.until_wrong(deed, wrong=["Time", "Figures"])
    chief.title("Time: how should it read?")
    chief.lacking("That is what the record says already.")
    local = chief.page.get_by_label("Time")
    local.fill(f"{local.input_value()[:11]}20:31:00")
    chief.go_on()
    chief.title("Figures: how should it read?")
    expect(chief.page.get_by_text("On record: Ballots cast: 788. Spoiled ballots: 61.")).to_be_visible()
    chief.page.get_by_label("Spoiled ballots").fill("x")
    chief.lacking("Whole numbers only")
    chief.page.get_by_label("Spoiled ballots").fill("16")
    chief.look("figures")
    chief.go_on()
    chief.until_review()
    expect(chief.page.locator(".says").first).to_contain_text("Figures: Ballots cast: 788. Spoiled ballots: 16.")
    expect(chief.page.locator(".heeds")).to_contain_text("The entry stays as it was signed")
    members = chief.sign_and_send()
    at = dump_instant(world.time("20:31"))
    assert (members["kind"], members["amends"], members["reason"]) == ("amend", deed.id, REASON)
    assert members["replaces"] == {"at": at, "figures": {"ballots_cast": 788, "ballots_spoiled": 16}}
    assert "site" not in members
    assert chief.foreseen == chief.found == set()
    entry = get_entry(head(), deed.id)
    assert entry is not None
    assert (entry.members["figures"], entry.members["at"]) == (members["replaces"]["figures"], at)
    assert entry.amended_by == (members["id"],)
    chief.page.get_by_role("link", name="See the entry").click()
    expect(chief.page.get_by_text("Shown as amended by")).to_be_visible()


def test_a_seal_number_is_put_right_by_as_many_as_read_it(chief: Chief, departure: Departure) -> None:
    item, point, number = departure.seals[0]
    world = departure.world
    slip = {
        "item": item,
        "point": point,
        "number": number[:-1] + ("8" if number[-1] != "8" else "9"),
        "state": "intact",
    }
    deed = put(departure, world.inspect([slip], world.chief(PLACE)))
    chief.until_wrong(deed, wrong=["Seals that were read"])
    chief.title("Seals that were read: how should it read?")
    chief.page.get_by_label("Number").fill("")
    chief.lacking(f"{point}: a seal that is there has a number.")
    chief.page.get_by_label("Number").fill(number.lower())
    chief.look("seals")
    chief.go_on()
    chief.until_review()
    members = chief.sign_and_send()
    assert members["replaces"] == {"seals": [{"item": item, "point": point, "number": number, "state": "intact"}]}
    assert chief.foreseen == chief.found == set()
    mismatches = {each.finding.rule for each in list_findings(head(), now=departure.now + 600)} & {"seal-mismatch"}
    assert mismatches == set()


def test_what_others_put_right_is_foreseen_and_found(chief: Chief, departure: Departure) -> None:
    world = departure.world
    book = departure.items[-1]
    deed = put(departure, world.incident("damaged", world.chief(PLACE), book, note="a dent"))
    chief.until_wrong(deed, wrong=["Things", "Note"])
    chief.title("Things: how should it read?")
    chief.page.get_by_label("Things").fill(f"{book[:-1]}\n{departure.items[-2]}")
    chief.lacking("no code of a label")
    chief.page.get_by_label("Things").fill(f"{departure.items[-2].lower()}\n\n{book}")
    chief.go_on()
    chief.title("Note: how should it read?")
    chief.page.get_by_label("Note").fill("")
    chief.go_on()
    chief.until_review(["OFFICE-1"], "Official")
    expect(chief.page.locator(".finds")).to_contain_text("Nobody here has signed the entry that is put right.")
    members = chief.sign_and_send(["OFFICE-1"])
    assert members["replaces"] == {"items": [departure.items[-2], book], "note": ""}
    assert chief.foreseen == chief.found == {"amended-by-others"}
    entry = get_entry(head(), deed.id)
    assert entry is not None and "note" not in entry.members


def test_without_a_network_it_says_so_and_asks_again(chief: Chief, departure: Departure) -> None:
    world, page = departure.world, chief.page
    deed = put(departure, world.incident("other", world.chief(PLACE), note="x"))
    page.route("**/api/v1/entries/**", lambda route: route.abort())
    page.goto(f"{chief.address}/at-work/amend/?entry={deed.id}")
    expect(page.get_by_text("The record cannot be reached now.")).to_be_visible()
    chief.title("This entry")
    chief.lacking("What the entry says has to be here first.")
    page.unroute("**/api/v1/entries/**")
    page.get_by_role("button", name="Ask again").click()
    expect(page.locator("#act .facts")).to_contain_text("“x”")
    page.goto(f"{chief.address}/at-work/amend/?entry={deed.id[:-1]}f")
    chief.title("This entry")
    expect(page.get_by_text("The record has no such entry.")).to_be_visible()
    page.evaluate("import('/static/custody/js/phone/drafts.js').then((it) => it.clearAll())")
    page.goto(f"{chief.address}/at-work/amend/")
    chief.title("This entry")
    chief.lacking("Open the entry first")


@pytest.fixture
def page(browser: Browser, server: str) -> Iterator[Page]:
    page = open_page(browser, width=360)
    page.goto(f"{server}/at-work/missing/")
    yield page
    page.context.close()


def test_only_what_the_format_lets_be_replaced_is_offered_with_all_its_words(page: Page) -> None:
    """Held against the program's own reading of format 1, sections 3 and 4."""
    offered = ask(
        page, "acts/amend", "() => Object.fromEntries(Object.entries(it.OF_KIND).map(([k, v]) => [k, Object.keys(v)]))"
    )
    assert offered.keys() == MEMBERS.keys()
    for kind, names in offered.items():
        assert set(names) <= MEMBERS[kind].keys() - NEVER_REPLACED, kind
    words = {
        ("handoff", "purpose"): Purpose,
        ("unseal", "reason"): UnsealReason,
        ("step", "step"): StepName,
        ("incident", "category"): Category,
        ("resolve", "outcome"): Outcome,
        ("dispose", "method"): DisposalMethod,
    }
    world: dict[str, Any] = {
        "policy": {"routes": {str(each): {} for each in Purpose if each not in ("relieve", "audit")}}
    }
    for (kind, name), expected in words.items():
        listed = ask(page, "acts/amend", f"(world) => it.OF_KIND.{kind}.{name}.list(world)", world)
        assert sorted(set(listed)) == sorted(expected), name
    assert sorted(ask(page, "acts/count", "() => it.FIGURES")) == sorted(Figure)


@pytest.mark.parametrize(
    ("zone", "local", "utc"),
    [
        ("America/New_York", "2026-11-03T20:50:00", "2026-11-04T01:50:00Z"),
        ("America/New_York", "2026-11-03T20:50", "2026-11-04T01:50:00Z"),
        # 1 November 2026, when clocks in the eastern time of the United States go back at 2:00 (15 U.S.C. 260a): the later one.
        ("America/New_York", "2026-11-01T01:30:00", "2026-11-01T06:30:00Z"),
        ("America/New_York", "2026-11-01T00:30:00", "2026-11-01T04:30:00Z"),
        # 8 March 2026, when they go forward: there is no half past two.
        ("America/New_York", "2026-03-08T02:30:00", None),
        ("America/Phoenix", "2026-03-08T02:30:00", "2026-03-08T09:30:00Z"),
        ("Pacific/Auckland", "2026-11-04T09:00:00", "2026-11-03T20:00:00Z"),
        ("UTC", "2026-11-04", None),
        ("UTC", "", None),
    ],
)
def test_the_clock_on_the_wall_is_an_instant(page: Page, zone: str, local: str, utc: str | None) -> None:
    seconds = ask(page, "record/local", "it.fromLocal", local, zone)
    assert (None if seconds is None else dump_instant(seconds)) == utc
    if seconds is not None:
        shown = datetime.fromtimestamp(seconds, UTC).astimezone(ZoneInfo(zone)).strftime("%Y-%m-%dT%H:%M:%S")
        assert ask(page, "record/local", "it.toLocal", seconds, zone) == shown
