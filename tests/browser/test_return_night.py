"""A whole night of returns in the invented county, as its people go through it in browsers: the chief and the couriers at a
door, a receiving desk, the night office, an official. What pages count is what the commands list, at every stage.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.contrib.auth import get_user_model
from django.db.backends.base.base import BaseDatabaseWrapper
from playwright.sync_api import Browser, Page, expect

from custody import clock
from custody.models.access import PageSettings
from fixtures_demo.county import ELECTION, JURISDICTION
from tests.browser.county import County, make_county
from tests.browser.county_people import OFFICE, PASSWORD, SOON, Office, Person, sign_in_by_badge, sign_in_by_name
from tests.browser.looking import faults, open_page
from tests.management.test_commands import ask, run
from tests.web.test_night_report import words_on

pytestmark = pytest.mark.one_engine

LATE = 175
"""Minutes after the polls closed: P23 and P24 are on the way, P25 is at its door, P26 is silent, seven lack single things."""
TONIGHT = ("--election", ELECTION)
"""What is still open of an earlier election is on the start page, and not among the counts of this night."""
REASON = "The first device was found defective; the second was loaded before two witnesses."


@pytest.fixture(autouse=True)
def patience() -> Iterator[None]:
    expect.set_options(timeout=SOON)
    yield
    expect.set_options(timeout=None)


@pytest.fixture
def county(own_database: BaseDatabaseWrapper, monkeypatch: pytest.MonkeyPatch) -> County:
    made = make_county(LATE)
    monkeypatch.setattr(clock, "now", made.now)
    get_user_model().objects.create_user(OFFICE, password=PASSWORD, is_staff=True)
    return made


def test_a_return_night(county: County, browser: Browser, server: str, tmp_path: Path) -> None:
    office = Office(browser, county, server)
    office.sees(overdue=1, silent=1, on_the_way=2, at_work=7, back=15, owed=94)
    a_chief_hands_over(county, browser, server)
    office.sees(overdue=1, silent=1, on_the_way=3, at_work=6, back=15, owed=94)
    county.later(25)
    desk = Person(browser, county, server, "RS-1", "RS")
    desk.look_with_axe()
    a_place_comes_in_whole(county, office, desk)
    a_place_comes_in_short(county, office, desk)
    what_was_short_is_found(office, desk)
    desk.leave()
    an_official_settles_a_finding(county, browser, server)
    the_report_has_the_rest(office, tmp_path)
    assert run("verify").code == 0
    office.leave()


def a_chief_hands_over(county: County, browser: Browser, server: str) -> None:
    chief = Person(browser, county, server, "P25-CHIEF", "P25")
    chief.hands_over("P25", ("P25-CHIEF", "P25-W1"), ("D25-A", "D25-B"))
    chief.leave()


def keys_of(place: str) -> list[str]:
    return [each["item"] for each in ask("outstanding", "--site", place) if each["kind"] == "key_set"]


def a_place_comes_in_whole(county: County, office: Office, desk: Person) -> None:
    """The drivers bring what they took, the chief brings the keys."""
    keys, drivers = keys_of("P25"), ("D25-A", "D25-B")
    with_chief = dict.fromkeys(keys, "Last held by Brook Bramblebourne and Finch Copperbourne")
    receipt = desk.takes_in("P25", county.loads["P25"], drivers, short=with_chief)
    page = office.go(receipt)
    expect(page.get_by_role("heading", level=1)).to_have_text("Receipt")
    for person in (*drivers, "RS-1", "RS-2"):
        expect(page.locator(".facts").get_by_text(county.names[person]).last).to_be_visible()
    expect(page.get_by_role("heading", name="2 items not yet accounted for")).to_be_visible()
    office.sees(overdue=1, silent=1, on_the_way=2, at_work=7, back=15, owed=75)
    receipt = desk.takes_in("P25", keys, ("P25-CHIEF", "P25-W1"), short={})
    expect(office.go(receipt).get_by_text("Nothing is short")).to_be_visible()
    office.sees(overdue=1, silent=1, on_the_way=2, at_work=6, back=16, owed=73)


def a_place_comes_in_short(county: County, office: Office, desk: Person) -> None:
    """One ballot container is not among the things; a quarter of an hour later that is a finding."""
    box, *others = county.loads["P23"]
    short = {each: "Last held by Clover Biscuitley and Flint Candleley" for each in keys_of("P23")}
    short[box] = "Last held by Bay Biscuitridge and Rook Candleridge (courier). Look beside the scanner"
    desk.takes_in("P23", others, ("D23-A", "D23-B"), short=short)
    office.sees(overdue=1, silent=1, on_the_way=2, at_work=6, back=16, owed=54)
    assert ask("findings", "--rule", "short-delivery", "--site", "P23") == []
    county.later(16)
    office.sees(overdue=1, silent=1, on_the_way=2, at_work=6, back=16, owed=54)
    (found,) = ask("findings", "--rule", "short-delivery", "--site", "P23")
    assert (found["severity"], found["items"]) == ("critical", [box])
    expect(office.screen.locator("#night-news")).to_contain_text(found["message"])
    office.finds("?rule=short-delivery", ask("findings", "--rule", "short-delivery"))


def what_was_short_is_found(office: Office, desk: Person) -> None:
    (found,) = ask("findings", "--rule", "short-delivery", "--site", "P23")
    desk.brings_up_to_date()
    desk.takes_in("P23", found["items"], ("D23-A", "D23-B"), short=dict.fromkeys(keys_of("P23"), "not here"))
    office.sees(overdue=1, silent=1, on_the_way=1, at_work=7, back=16, owed=53)
    expect(office.screen.locator("#night-news")).not_to_contain_text(found["message"])
    (cleared,) = ask("findings", "--rule", "short-delivery", "--site", "P23", "--all")
    assert (cleared["key"], cleared["status"]) == (found["key"], "cleared")
    expect(office.go(f"/findings/{found['key']}").locator("main")).to_contain_text("cleared")


def an_official_settles_a_finding(county: County, browser: Browser, server: str) -> None:
    (found,) = ask("findings", "--rule", "second-device")
    official = Person(browser, county, server, "OFF-1", "RS")
    page = official.page
    page.goto(f"{server}/findings/{found['key']}")
    page.get_by_role("link", name="Settle it").click()
    official.title("This finding")
    expect(page.locator("#act").get_by_text(found["message"])).to_be_visible()
    official.go_on()
    official.title("What became of it?")
    page.get_by_role("radio", name="Explained").check()
    official.go_on()
    official.title("Why?")
    page.get_by_label("What was found out").fill(REASON)
    official.go_on()
    official.title("Photos, if they help")
    official.go_on()
    official.title("Who settles it?")
    official.name(["OFF-1"])
    official.sign_and_send(["OFF-1"])
    page.get_by_role("link", name="See the finding").click()
    expect(page.get_by_text("It was settled by a signed entry:")).to_be_visible()
    expect(page.get_by_text(REASON)).to_be_visible()
    official.leave()
    assert ask("findings", "--rule", "second-device") == []


def the_report_has_the_rest(office: Office, folder: Path) -> None:
    """Page, table and paper: every line of the two commands, and no other."""
    outstanding, findings = ask("outstanding", *TONIGHT), ask("findings", *TONIGHT)
    page = office.go("/night/report/")
    data = page.request.get(f"{office.address}/night/report.csv").text()
    rows = list(csv.DictReader(io.StringIO(data, newline=""), strict=True))
    assert sorted(row["key"] for row in rows if row["rule"]) == sorted(each["key"] for each in findings)
    assert sorted(row["items"] for row in rows if not row["rule"]) == sorted(each["item"] for each in outstanding)
    headings = Counter(row["heading"] for row in rows)
    paper = " ".join(words_on(page.request.get(f"{office.address}/night/report.pdf").body(), folder))
    titles = {str(a.get_attribute("href"))[1:]: a.inner_text() for a in page.locator(".figures a").all()}
    assert headings.keys() <= titles.keys()
    for heading, title in titles.items():
        count = headings[heading]
        assert f"{title}: {count}" in paper
        expect(page.locator(".figures div").filter(has_text=title).locator("dd")).to_have_text(str(count))
        expect(page.locator(f"section[aria-labelledby='{heading}'] tbody tr")).to_have_count(count)
    assert [each["item"] for each in outstanding if each["item"] not in paper] == []
    assert faults(page) == []


WHOLE = ("/night/", "/night/wall/", "/night/report/", "/findings/", "/places/P24/")
VISITS = {
    "P25-CHIEF": {"/places/P25/", "/public/"},
    "D24-A": {"/public/"},
    "OBS-1": {"/public/"},
    "RS-1": {*WHOLE, "/places/P25/", "/public/"},
    "AUD-1": {*WHOLE, "/places/P25/", "/public/"},
    OFFICE: {*WHOLE, "/places/P25/", "/public/", "/people/"},
}
PERSONAL = {"RS-1", "AUD-1", OFFICE}
"""Who sees names and numbers of people."""


def test_a_visit_as_each_role(county: County, browser: Browser, server: str) -> None:
    """As the table of rights has it: desks, auditors and the office see all of the night, a crew its own place."""
    paths = sorted({path for opened in VISITS.values() for path in opened})
    for person, opened in VISITS.items():
        page = open_page(browser, width=360)
        if person == OFFICE:
            sign_in_by_name(page, server)
        else:
            sign_in_by_badge(page, server, county, person)
        told = visit(page, server, paths)
        assert {path for path, (status, _) in told.items() if status == 200} == opened, person
        for path in set(paths) - opened:
            status, text = told[path]
            assert (status, "This page is not open to you." in text) == (403, True), (person, path)
        shown = " ".join(text for path, (_, text) in told.items() if path in opened)
        assert bool(personal_in(shown, county)) == (person in PERSONAL), person
        page.context.close()


def test_a_visit_of_nobody(county: County, browser: Browser, server: str) -> None:
    page = open_page(browser, width=360)
    paths = sorted({path for opened in VISITS.values() for path in opened})
    for path in ("/", *paths):
        page.goto(server + path)
        expect(page).to_have_url(f"{server}/sign-in/?next={path}")
    PageSettings.objects.update_or_create(jurisdiction=JURISDICTION, defaults={"public_view": True})
    page.goto(server)
    expect(page).to_have_url(f"{server}/public/")
    listed = ask("outstanding")
    expect(page.locator(".figures")).to_contain_text(re.compile(r"15\s*of 26"))
    expect(page.locator(".figures div").filter(has_text="items not back yet").locator("dd")).to_have_text(
        str(len(listed))
    )
    found = ask("findings")
    severities = Counter(each["severity"] for each in found if not each.get("waiting"))
    wanted = {f"open findings: {severity}": count for severity, count in severities.items()}
    wanted["Waiting for a phone without network"] = sum(each.get("waiting", False) for each in found)
    assert len(wanted) == 4
    for words, count in wanted.items():
        figure = page.locator(".figures div").filter(has_text=re.compile(words, re.IGNORECASE))
        expect(figure.locator("dd")).to_have_text(str(count))
    assert personal_in(page.locator("main").inner_text(), county) == []
    assert faults(page) == []
    for path in paths:
        page.goto(server + path)
        expect(page).to_have_url(f"{server}/public/" if path == "/public/" else f"{server}/sign-in/?next={path}")
    page.context.close()


def visit(page: Page, server: str, paths: list[str]) -> dict[str, tuple[int, str]]:
    """Status and text of each page."""
    told = {}
    for path in paths:
        response = page.goto(server + path)
        assert response is not None
        told[path] = (response.status, page.locator("main").inner_text())
    return told


def personal_in(text: str, county: County) -> list[str]:
    """Names and numbers of the county's people that stand in a text."""
    return [each for each in (*county.names.values(), *county.phones) if each in text]
