"""Slips of the hand at a place: numbers typed once, numbers of two makers, scans that nobody asked for, long lists, two pages."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

from custody import store
from custody.ledger.base64 import parse_base64
from custody.ledger.canonical import parse_canonical
from custody.models.register import Assignment, SealLot
from tests.browser.departure import NAMES, PLACE, Departure
from tests.browser.handing import GIVERS, TAKERS, User
from tests.browser.keys import HAND
from tests.browser.looking import open_page
from tests.web.evening import DRILL
from tests.world_register import ELECTION, JURISDICTION, OTHER_MAKER

pytestmark = pytest.mark.one_engine

AGAIN = "Look again, and type it once more."
DIFFERS = "The two were not the same. Type it from the beginning."


@pytest.fixture
def user(browser: Browser, departure: Departure, server: str) -> Iterator[User]:
    page = open_page(browser, width=360)
    yield User(page, departure, server)
    page.context.close()


def test_a_loose_seal_that_is_typed_is_typed_twice(user: User, departure: Departure) -> None:
    """One that is scanned is scanned once; of a run the two numbers have to fit each other."""
    one, other, third = departure.world.loose[PLACE][:3]
    user.choose_place()
    user.open()
    user.name_people()
    user.title("What goes?")
    said, loose = user.page.locator("#act .last"), user.page.locator("details .ticks .ticked")
    for number, words in ((one, AGAIN), (other, DIFFERS), (one, AGAIN), (one, f"Loose seal {one} is added.")):
        user.scan(number, every=HAND)
        expect(said).to_have_text(words)
    expect(loose).to_have_count(1)
    user.scan(other)
    expect(loose).to_have_count(2)
    first = user.page.get_by_label("First number")
    fault = user.page.locator("details .lacking")
    first.fill(third)
    first.press("Enter")
    expect(fault).to_have_text(AGAIN)
    expect(loose).to_have_count(2)
    first.fill(third)
    first.press("Enter")
    expect(fault).to_be_empty()
    expect(loose).to_have_count(3)


def test_of_two_makers_with_one_number_it_asks_whose_seal_is_put_on(user: User, departure: Departure) -> None:
    SealLot.objects.filter(jurisdiction=JURISDICTION, prefix="T").update(issued_to=PLACE)
    box = sorted(departure.world.kits[PLACE].containers)[0]
    head = store.open_log(JURISDICTION, DRILL)
    user.choose_place()
    user.open("apply-seals", "Who does this?")
    user.name(GIVERS)
    user.scan(box)
    user.go_on()
    user.title("Put the seals on")
    user.scan("T0000007")
    expect(user.page.get_by_text("Two makers have this number. Whose seal is it?")).to_be_visible()
    user.scan("T0000008")  # its Enter must choose nobody
    expect(user.page.locator(".readings .ticked")).to_have_count(0)
    user.page.get_by_role("button", name=OTHER_MAKER).click()
    expect(user.page.locator(".readings .ticked")).to_have_count(1)
    user.scan(departure.world.loose[PLACE][0])
    expect(user.page.locator(".readings .ticked")).to_have_count(2)
    user.go_on()
    user.title("Is this right?")
    user.go_on()
    user.sign(GIVERS)
    user.finish()
    expect(user.page.locator("#outbox-status")).to_have_text("All sent")
    (line,) = store.read_lines(store.open_log(JURISDICTION, DRILL), head.size)
    seals = parse_canonical(parse_base64(line.content()["envelope"]["payload"]))["seals"]
    assert [(each["number"], each.get("maker")) for each in seals] == [
        ("T0000007", OTHER_MAKER),
        (departure.world.loose[PLACE][0], None),
    ]


def test_a_scan_that_nobody_asked_for_does_not_go_on(user: User, departure: Departure) -> None:
    """Its Enter would leave the review unread. Somebody's own Enter goes on."""
    user.choose_place()
    user.until_review()
    user.scan(departure.items[0])
    user.page.wait_for_timeout(300)
    user.title("Is this right?")
    user.press()
    user.title("Each of you signs")


def test_in_a_long_list_whoever_has_something_stands_first(user: User, departure: Departure) -> None:
    """Nine couriers more, whose codes come first: those who took the first load are at the top when the second goes."""
    for number in range(9):
        Assignment.objects.create(
            jurisdiction=JURISDICTION, election=ELECTION, person=f"A-{number}", role="courier", site="", line=0
        )
    user.choose_place()
    user.open()
    user.name_people()
    user.title("What goes?")
    user.scan(departure.items[0])
    user.go_on()
    user.title("Read the seals")
    user.go_on()
    user.title("Is this right?")
    user.go_on()
    user.sign(GIVERS)
    user.page.get_by_role("button", name="Record it without 2 signatures").click()
    user.title("Saved on this phone")
    user.open()
    user.go_on()  # those of before are named
    user.title("Who takes it?")
    names = user.page.locator(".choices .choice b").all_text_contents()
    assert sorted(names[:2]) == sorted(NAMES[person] for person in TAKERS)
    assert "A-0" in names[2:]
    assert user.page.locator(".choices input:checked").count() == 0


def test_pocket_register_and_outbox_are_read_as_of_one_instant(user: User) -> None:
    """Read one after the other, what another page moves from the outbox to the register meanwhile would be in neither.

    What one transaction reads is as of one instant (Indexed Database API 3.0, section 2.7.1).
    """
    user.choose_place()
    world = user.page.evaluate(
        """performance.getEntriesByType("resource").map((each) => each.name).find((each) => /phone\\/world\\b/.test(each))"""
    )
    user.page.goto(f"{user.address}/rights/")  # where no script of its own reads them too
    stores = user.page.evaluate(
        """async (module) => {
            const real = IDBDatabase.prototype.transaction, opened = [];
            IDBDatabase.prototype.transaction = function (stores, ...more) {
                opened.push([stores].flat());
                return real.call(this, stores, ...more);
            };
            const world = await (await import(module)).getWorld();
            IDBDatabase.prototype.transaction = real;
            return [world.site, opened.filter((each) => each.includes("pockets") || each.includes("outbox"))];
        }""",
        world,
    )
    assert stores == [PLACE, [["settings", "pockets", "outbox"]]]
