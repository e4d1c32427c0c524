"""Settling a finding at its page, as somebody of the office does it: with the record at hand, without it, with a part in it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, expect

from custody import store
from custody.ledger.base64 import parse_base64
from custody.ledger.canonical import dump_canonical, parse_canonical
from custody.queries.findings import ListedFinding, list_findings
from custody.services.record import Arrival, record_entries
from tests.browser.departure import PLACE, Departure
from tests.browser.handing import User, looked_at
from tests.browser.looking import open_page
from tests.web.evening import DRILL
from tests.world import reading
from tests.world_acts import Deed
from tests.world_register import JURISDICTION

pytestmark = pytest.mark.one_engine

REASON = "The clerk’s list had two digits in the wrong order; the seal was read again by two others."


def head() -> store.LogHead:
    return store.open_log(JURISDICTION, DRILL)


def put(departure: Departure, deed: Deed) -> None:
    (receipt,) = record_entries(head(), [Arrival(envelope=dump_canonical(deed.envelope()), received=departure.now)])
    assert receipt.id == deed.id  # type: ignore[union-attr]


def misread(departure: Departure, people: list[str]) -> str:
    """The key of a finding: a number was read that is not the one on record."""
    world = departure.world
    box = sorted(world.kits[PLACE].containers)[0]
    party = {"role": "official", "people": people} if people else world.chief(PLACE)
    deed = world.inspect([reading(box, "front", "S0099999")], party)
    put(departure, deed)
    return f"seal-mismatch/{deed.id}:{box}:front"


def standing(departure: Departure, key: str) -> ListedFinding:
    (found,) = [
        each for each in list_findings(head(), now=departure.now + 600, everything=True) if each.finding.key == key
    ]
    return found


class Official(User):
    """Somebody of the office, with a scanner and a keyboard."""

    def words(self) -> None:
        self.title("Why?")
        self.page.get_by_label("What was found out").fill(REASON)
        self.go_on()
        self.title("Photos, if they help")
        self.go_on()

    def outcome(self, words: str) -> None:
        self.title("What became of it?")
        self.page.get_by_role("radio", name=words).check()
        self.go_on()

    def sign_and_send(self) -> dict[str, Any]:
        before = head().size
        self.go_on()
        self.sign(["OFFICE-1"])
        self.finish()
        expect(self.page.locator("#outbox-status")).to_have_text("All sent")
        (line,) = store.read_lines(head(), before)
        members: dict[str, Any] = parse_canonical(parse_base64(line.content()["envelope"]["payload"]))
        return members


@pytest.fixture(params=[320, 1280])
def official(browser: Browser, departure: Departure, server: str, request: pytest.FixtureRequest) -> Iterator[Official]:
    made = Official(open_page(browser, width=request.param), departure, server)
    with looked_at(made, width=request.param, states=6):
        yield made


def test_a_finding_is_settled_from_its_page(official: Official, departure: Departure) -> None:
    key, page = misread(departure, []), official.page
    page.goto(f"{official.address}/findings/{key}")
    page.get_by_role("link", name="Settle it").click()
    # This phone knows no place yet: choosing one leads back here.
    page.get_by_role("link", name="Choose the place").click()
    page.get_by_role("button", name=f"Site {PLACE}").click()
    official.title("This finding")
    expect(page.locator("#act").get_by_text(standing(departure, key).message)).to_be_visible()
    expect(page.get_by_role("listitem").filter(has_text="Clover Kettlewick")).to_be_visible()
    official.look("told")
    official.go_on()
    official.outcome("Corrected")
    official.words()
    official.title("Who settles it?")
    official.name(["OFFICE-1"])
    official.title("Is this right?")
    expect(page.get_by_role("heading", name="What else to know")).to_have_count(0)
    expect(page.locator(".says")).to_contain_text(REASON)
    members = official.sign_and_send()
    assert {name: members.get(name) for name in ("kind", "finding", "outcome", "reason", "by", "site", "election")} == {
        "kind": "resolve",
        "finding": key,
        "outcome": "corrected",
        "reason": REASON,
        "by": {"role": "official", "people": ["OFFICE-1"]},
        "site": None,
        "election": "GEN26",
    }
    assert standing(departure, key).settled.status == "resolved"
    page.get_by_role("link", name="See the finding").click()
    expect(page.get_by_text("It was settled by a signed entry:")).to_be_visible()
    expect(page.get_by_role("link", name="Settle it")).to_have_count(0)


def test_whoever_has_a_part_in_it_is_told_that_it_stays_open(official: Official, departure: Departure) -> None:
    key, page = misread(departure, ["OFFICE-1"]), official.page
    official.choose_place()
    page.goto(f"{official.address}/at-work/settle/?finding={key}")
    official.title("This finding")
    expect(page.get_by_role("heading", name="Who has a part in it")).to_be_visible()
    official.go_on()
    official.outcome("Explained")
    official.words()
    official.title("Who settles it?")
    official.name(["OFFICE-1"])
    official.title("Is this right?")
    heeds = page.locator(".heeds")
    expect(heeds).to_contain_text("Wren Larkham has a part in this finding.")
    expect(heeds).to_contain_text("The finding will stay open")
    official.sign_and_send()
    assert standing(departure, key).settled.status == "open"


def test_without_a_network_one_can_still_sign(official: Official, departure: Departure) -> None:
    key, page = misread(departure, []), official.page
    official.choose_place()
    page.route("**/api/v1/findings/**", lambda route: route.abort())
    page.goto(f"{official.address}/at-work/settle/?finding={key}")
    expect(page.get_by_text("The record cannot be reached now")).to_be_visible()
    official.go_on()
    official.outcome("Referred")
    official.words()
    official.title("Who settles it?")
    official.name(["OFFICE-1"])
    official.title("Is this right?")
    expect(page.locator(".heeds")).to_contain_text("was not asked who has a part in this finding")
    expect(page.locator(".heeds")).to_contain_text("stays open, and shows that it was referred")
    official.sign_and_send()
    found = standing(departure, key)
    assert (found.settled.status, found.settled.referred is not None) == ("open", True)


def test_another_finding_begins_anew_and_no_finding_says_where_to_begin(
    official: Official, departure: Departure
) -> None:
    key, page = misread(departure, []), official.page
    official.choose_place()
    page.goto(f"{official.address}/at-work/settle/?finding={key}")
    official.title("This finding")
    official.go_on()
    official.outcome("Accepted")
    page.goto(f"{official.address}/at-work/settle/?finding={key}")
    official.title("Why?")
    page.goto(f"{official.address}/at-work/settle/?finding={key}x")
    official.title("This finding")
    expect(page.get_by_text("The record has no finding of this name any more.")).to_be_visible()
    page.evaluate("indexedDB.deleteDatabase('custody')")
    page.goto(f"{official.address}/at-work/settle/")
    official.look("no place")
