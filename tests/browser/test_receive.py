"""Receiving at the desk, and handing out in the warehouse: lists that are ticked, and what is short."""

from __future__ import annotations

import time
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Locator, expect

from custody import store
from tests.browser.departure import PLACE, Departure
from tests.browser.handing import TAKERS, User
from tests.browser.looking import open_page
from tests.web.evening import DRILL
from tests.world_register import JURISDICTION
from tests.worlds_on_record import put_deeds

pytestmark = pytest.mark.one_engine

DESK = ("DESK-1", "DESK-2")


@pytest.fixture
def user(browser: Browser, departure: Departure, server: str) -> Iterator[User]:
    page = open_page(browser, width=360)
    yield User(page, departure, server)
    page.context.close()


@pytest.fixture
def on_the_way(departure: Departure) -> Departure:
    """The drivers have left with everything."""
    departure.world.depart(PLACE)
    put_deeds(store.open_log(JURISDICTION, DRILL), departure.world.lines()[-1:])
    return departure


def line(user: User, code: str) -> Locator:
    return user.page.locator(".ticks > .open, .ticks > .ticked").filter(has_text=code)


def test_the_desk_ticks_what_came_and_sees_what_is_short(user: User, on_the_way: Departure) -> None:
    carried = on_the_way.world.returned(PLACE)
    user.choose_place("RS")
    user.open("receive", "Who brings it?")
    user.name(TAKERS)
    user.title("Who receives?")
    user.name(DESK)
    user.title("What has come?")
    expect(user.page.locator(".ticks > .open")).to_have_count(len(carried))
    short = on_the_way.world.kits[PLACE].pollbook
    for code in set(carried) - {short}:
        user.scan(code)
        expect(line(user, code)).to_contain_text("scanned")
    expect(line(user, short)).to_contain_text("not yet")
    user.go_on()
    user.read_seals()
    user.title("Is this right?")
    left = user.page.get_by_role("heading", name="Not scanned, and so not received").locator("xpath=..")
    expect(left).to_contain_text(short)
    expect(left.locator("li")).to_have_count(1)


def test_the_code_of_a_place_opens_the_list_of_all_that_it_owes(user: User, on_the_way: Departure) -> None:
    keys = on_the_way.world.kits[PLACE].keys
    user.choose_place("RS")
    user.open("receive", "Who brings it?")
    user.name(TAKERS)
    user.title("Who receives?")
    user.name(DESK)
    user.title("What has come?")
    expect(line(user, keys)).to_have_count(0)
    user.scan(PLACE)
    expect(user.page.locator(".last")).to_have_text(f"The list of Site {PLACE} is open.")
    expect(line(user, keys)).to_contain_text("not yet")


def test_people_of_the_last_act_here_are_named_already(user: User, departure: Departure) -> None:
    user.choose_place()
    user.whole()
    user.open()
    for person in ("CHIEF-P01", "WORKER-1-P01"):
        expect(user.box(person)).to_be_checked()
    expect(user.box("WORKER-2-P01")).not_to_be_checked()


def test_what_lies_inside_goes_with_its_container(user: User, departure: Departure) -> None:
    kit = departure.world.kits[PLACE]
    user.choose_place()
    user.open()
    user.name_people()
    user.title("What goes?")
    expect(line(user, kit.case)).to_contain_text("In it: envelope (memory device, results tape)")
    user.scan(kit.envelope)
    said = user.page.locator(".last")
    expect(said).to_contain_text(f"By the record, Envelope {kit.envelope} lies in Transfer case {kit.case}")
    expect(user.page.locator(".ticked")).to_have_count(0)
    user.page.get_by_role("button", name="It is outside: add it").click()
    expect(user.page.locator(".ticked")).to_have_count(1)


def test_a_slip_in_a_code_is_told(user: User, departure: Departure) -> None:
    """MD000006 has the check character of another serial."""
    user.choose_place()
    user.open()
    user.name_people()
    user.title("What goes?")
    user.scan("MD000006")
    expect(user.page.locator(".scan-said")).to_contain_text("One character is wrong, or two are swapped.")
    expect(user.page.locator(".ticked")).to_have_count(0)


def test_a_label_that_will_not_scan_is_ticked_by_hand(user: User, departure: Departure) -> None:
    code = departure.items[0]
    user.choose_place()
    user.open()
    user.name_people()
    user.page.get_by_text("A label will not scan").click()
    user.page.get_by_role("button", name=f"It is here Transfer case {code}").click()
    expect(line(user, code)).to_contain_text("scanned")
    user.page.get_by_role("button", name=f"Take off Transfer case {code}").click()
    expect(line(user, code)).to_contain_text("not yet")


def test_loose_seals_go_along_as_runs(user: User, departure: Departure) -> None:
    user.choose_place()
    user.open()
    user.name_people()
    user.page.get_by_text("Loose seals go along").click()
    user.page.get_by_label("First number").fill("S0001030")
    user.page.get_by_label("Last number").fill("S0001020")
    user.page.get_by_role("button", name="Add", exact=True).click()
    expect(user.page.get_by_text("A run has one prefix")).to_be_visible()
    user.page.get_by_label("Last number").fill("S0001039")
    user.page.get_by_role("button", name="Add", exact=True).click()
    user.go_on()
    user.title("Is this right?")
    expect(user.page.locator(".says")).to_contain_text("Loose seals: S0001030..S0001039.")


def test_a_scanner_presses_no_button_while_a_seal_is_in_question(user: User, departure: Departure) -> None:
    user.choose_place()
    user.open()
    user.name_people()
    user.title("What goes?")
    user.scan(departure.seals[0][0])
    user.go_on()
    user.title("Read the seals")
    user.read(departure.seals[0][2])
    expect(user.page.get_by_role("button", name="Intact, and it holds")).to_be_focused()
    user.scan(departure.seals[1][2])
    expect(user.page.locator("#live")).to_have_text("First say how this seal is, then read the next.")
    expect(user.page.locator(".readings .ticked")).to_have_count(0)
    time.sleep(0.1)
    user.intact()
    expect(user.page.locator(".readings .ticked")).to_have_count(1)


def test_the_warehouse_opens_the_list_of_a_kit_by_scanning_one_thing_of_it(user: User, departure: Departure) -> None:
    world = departure.world
    before = len(world.log)
    kit = world.prepare("P02")
    put_deeds(store.open_log(JURISDICTION, DRILL), world.log[before:])
    user.choose_place("WH")
    user.open()
    for person in ("CLERK-1", "CLERK-2"):
        user.page.get_by_role("checkbox", name=person).check()
    user.go_on()
    user.title("Who takes it?")
    expect(user.page.get_by_label("What this is")).to_have_value("0")
    expect(user.page.locator("#route option:checked")).to_have_text("Issue: to courier")
    for person in ("DRIVER-1-P02", "DRIVER-2-P02"):
        user.page.get_by_role("checkbox", name=person).check()
    user.go_on()
    user.title("What goes?")
    user.scan(kit.pollbook)
    outer = world.outer(kit)
    expect(user.page.locator(".tally")).to_have_text(f"1 of {len(outer)} scanned")


def test_what_is_still_missing_says_where_to_look(user: User, departure: Departure) -> None:
    """The drivers took all but scanner and keys; a scanner need not be back on election night."""
    user.choose_place()
    user.whole()
    user.page.get_by_role("link", name="Still missing here").click()
    user.title("Still missing here")
    expect(user.page.locator(".ticks > li")).to_have_count(1)
    expect(line(user, departure.world.kits[PLACE].keys)).to_contain_text("Look in the locks, then in pockets.")
