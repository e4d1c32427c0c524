"""The return desk: a place's whole list, what is short while the crew is there, two desks at once, the receipt."""

from __future__ import annotations

import io
from collections.abc import Iterator

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, Locator, expect

from custody import clock, store
from custody.ledger.checkpoint import parse_checkpoint
from custody.ledger.merkle import verify_inclusion
from custody.ledger.proof import parse_proof
from custody.models.derived import OwedRow
from custody.queries.outstanding import list_outstanding
from tests.browser.departure import PLACE, Departure
from tests.browser.handing import TAKERS, User
from tests.browser.looking import faults, open_page
from tests.web.evening import DRILL
from tests.world_register import JURISDICTION
from tests.worlds_on_record import put_deeds

pytestmark = pytest.mark.one_engine

DESK = ("DESK-1", "DESK-2")
OTHER = "P02"


@pytest.fixture
def on_the_way(departure: Departure, monkeypatch: pytest.MonkeyPatch) -> Departure:
    """The drivers left with everything a quarter of an hour ago."""
    departure.world.depart(PLACE)
    arrived = departure.world.at + 900
    monkeypatch.setattr(clock, "now", lambda: arrived)
    put_deeds(store.open_log(JURISDICTION, DRILL), departure.world.lines()[-1:])
    return departure


def open_desk(browser: Browser, departure: Departure, server: str, *, width: int = 1280) -> User:
    user = User(open_page(browser, width=width), departure, server)
    user.choose_place("RS")
    user.open("return-desk", "Which place has come in?")
    return user


@pytest.fixture
def desk(browser: Browser, on_the_way: Departure, server: str) -> Iterator[User]:
    user = open_desk(browser, on_the_way, server, width=360)
    yield user
    user.page.context.close()


def line(user: User, code: str) -> Locator:
    return user.page.locator(".ticks > li").filter(has_text=code)


def owed(departure: Departure) -> set[str]:
    log = store.open_log(JURISDICTION, DRILL)
    return {each.item for each in list_outstanding(log, now=departure.world.at + 3600, site=PLACE)}


def outermost(departure: Departure) -> list[str]:
    """What the drivers carry, without what lies in something else."""
    return list(departure.world.returned(PLACE))


def kept(departure: Departure) -> list[str]:
    """What must be back and the chief has still, by the record: without what lies in something else."""
    log = store.open_log(JURISDICTION, DRILL)
    rows = list_outstanding(log, now=departure.world.at + 60, site=PLACE)
    return [each.item for each in rows if not each.container and each.item not in outermost(departure)]


def scan_all_but(user: User, departure: Departure, *left: str) -> None:
    for code in outermost(departure):
        if code not in left:
            user.scan(code)
            expect(line(user, code)).to_contain_text("scanned")


def finish(user: User, departure: Departure) -> str:
    """Bringers stand named by the record; the desk's people are named; all sign. The id of the entry."""
    user.title("Who brings it?")
    for person in TAKERS:
        expect(user.box(person)).to_be_checked()
    user.go_on()
    user.title("Who receives?")
    user.name(DESK)
    read_what_is_asked(user, departure)
    user.title("Is this right?")
    user.go_on()
    user.sign([*TAKERS, *DESK])
    user.finish()
    link = user.page.get_by_role("link", name="Receipt to print or show")
    return str(link.get_attribute("href"))


def read_what_is_asked(user: User, departure: Departure) -> None:
    user.title("Read the seals")
    numbers = {(item, point): number for item, point, number in departure.seals}
    while user.page.get_by_role("heading", name="All seals are read").count() == 0:
        which = user.page.locator(".reading .which").inner_text()
        point = user.page.locator(".reading h2").inner_text().removeprefix("Seal: ")
        (number,) = [number for (item, at), number in numbers.items() if item in which and at == point]
        user.read(number)
        user.intact()
        user.page.wait_for_timeout(50)
    user.press()


def test_a_case_opens_the_list_of_its_place_with_the_memory_device_first(desk: User, on_the_way: Departure) -> None:
    kit = on_the_way.world.kits[PLACE]
    desk.scan(kit.case)
    desk.title(f"What has come from Site {PLACE}?")
    expect(desk.page.locator(".ticks > li").first).to_contain_text("memory device")
    assert faults(desk.page) == []


@pytest.mark.parametrize("how", ["place", "badge", "list"])
def test_a_place_is_told_by_its_code_by_who_carries_it_or_in_the_list(
    desk: User, on_the_way: Departure, how: str
) -> None:
    if how == "list":
        desk.page.get_by_role("button", name=f"Site {PLACE}").click()
    else:
        desk.scan(PLACE if how == "place" else on_the_way.badges[TAKERS[0]].text)
    desk.title(f"What has come from Site {PLACE}?")


@pytest.mark.parametrize("focus", ["button", "title"])
def test_the_short_code_of_a_place_is_heard_wherever_the_focus_is(
    desk: User, on_the_way: Departure, focus: str
) -> None:
    desk.page.locator(".onward button" if focus == "button" else "h1").focus()
    desk.scan(PLACE)
    desk.title(f"What has come from Site {PLACE}?")


def test_whatever_is_no_case_and_no_place_is_called_what_it_is(desk: User, on_the_way: Departure) -> None:
    """A seal, a text, somebody who carries nothing; later a badge, a seal and a place among things."""
    seal, badge = on_the_way.seals[0][2], on_the_way.badges[DESK[0]].text
    heard = desk.page.locator(".step-body .note")
    for text, words in ((seal, "number of a seal"), ("hello there", "not a label"), (badge, "is with them")):
        desk.scan(text)
        expect(heard).to_contain_text(words)
    desk.scan(PLACE)
    desk.title(f"What has come from Site {PLACE}?")
    for text, words in ((seal, "number of a seal"), (badge, "at a step of their own"), (PLACE, "code of a place")):
        desk.scan(text)
        expect(desk.page.locator(".step-body .last")).to_contain_text(words)
    expect(desk.page.locator(".ticked")).to_have_count(0)


def test_a_thing_that_another_place_owes_is_taken_with_a_word_about_it(
    browser: Browser, on_the_way: Departure, server: str
) -> None:
    """It stood as a silent tick beside a box of the same name, and was a critical finding only afterwards."""
    own, other, *_ = outermost(on_the_way)
    assert OwedRow.objects.filter(item=other).update(site=OTHER) == 1
    desk = open_desk(browser, on_the_way, server)
    desk.scan(PLACE)
    desk.title(f"What has come from Site {PLACE}?")
    desk.scan(own)
    expect(desk.page.locator(".step-body .last")).to_have_class("last good")
    desk.scan(other)
    expect(desk.page.locator(".step-body .last")).to_have_class("last ask")
    expect(desk.page.locator(".step-body .last")).to_contain_text(f"By the record it is owed by Site {OTHER}.")
    expect(desk.page.locator(".ticked")).to_have_count(2)
    desk.page.context.close()


def test_what_is_short_stands_in_words_while_the_crew_is_there(desk: User, on_the_way: Departure) -> None:
    case = on_the_way.world.kits[PLACE].case
    desk.scan(PLACE)
    desk.title(f"What has come from Site {PLACE}?")
    scan_all_but(desk, on_the_way, case)
    desk.go_on()
    desk.title(f"Not here yet: {len(kept(on_the_way)) + 1}")
    expect(desk.page.get_by_text("A memory device is not here. Nobody leaves")).to_be_visible()
    expect(line(desk, case)).to_contain_text("Last held by Sage Thimbleham and Birk Saddleham")
    expect(line(desk, case)).to_contain_text("Look where the tapes were signed")
    assert faults(desk.page) == []
    desk.page.get_by_role("button", name="It has turned up: scan it").click()
    desk.title(f"What has come from Site {PLACE}?")
    desk.scan(case)
    desk.go_on()
    desk.title(f"Not here yet: {len(kept(on_the_way))}")
    expect(line(desk, case)).to_have_count(0)
    expect(line(desk, kept(on_the_way)[0])).to_contain_text("Last held by Clover Kettlewick")
    desk.go_on()
    desk.title("Who brings it?")


def test_one_handoff_takes_all_in_and_gives_a_receipt_with_its_proof(desk: User, on_the_way: Departure) -> None:
    before = owed(on_the_way)
    assert len(before) > len(outermost(on_the_way)), "what lies inside counts too"
    desk.scan(PLACE)
    scan_all_but(desk, on_the_way)
    desk.go_on()
    desk.title(f"Not here yet: {len(kept(on_the_way))}")
    desk.go_on()
    address = finish(desk, on_the_way)
    desk.page.goto(desk.address + address)
    expect(desk.page.get_by_role("heading", level=1)).to_have_text("Receipt", timeout=20_000)
    carried_not = before - {*outermost(on_the_way)} - inside(on_the_way)
    assert owed(on_the_way) == carried_not
    proof = desk.page.locator("pre").text_content() or ""
    check(proof, address)
    assert faults(desk.page) == []
    desk.page.set_viewport_size({"width": 1280, "height": 1600})
    picture = Image.open(io.BytesIO(desk.page.locator(".qr").screenshot(scale="device")))
    assert [each.text for each in zxingcpp.read_barcodes(picture)] == [proof], (
        "another's reader, ZXing, reads the same proof"
    )


def inside(departure: Departure) -> set[str]:
    kit = departure.world.kits[PLACE]
    return {kit.memory, kit.tape, kit.envelope}


def check(text: str, address: str) -> None:
    """RFC 6962, 2.1.1: the leaf and the path give the root of the checkpoint that goes with them."""
    proof = parse_proof(text)
    checkpoint = parse_checkpoint(proof.checkpoint)
    log = store.open_log(JURISDICTION, DRILL)
    (line_,) = store.lines_of_entries(log, [address.split("/")[2]]).values()
    assert line_[0].seq == proof.index
    verify_inclusion(proof.index, checkpoint.size, line_[0].leaf, proof.hashes, checkpoint.root)


def test_two_desks_do_not_take_one_thing_in_twice(browser: Browser, on_the_way: Departure, server: str) -> None:
    one, other = (open_desk(browser, on_the_way, server) for _ in range(2))
    for user in (one, other):
        user.scan(PLACE)
        user.title(f"What has come from Site {PLACE}?")
    first, second, *_ = outermost(on_the_way)
    one.scan(first)
    other.scan(first)
    other.scan(second)
    one.go_on()
    one.title(f"Not here yet: {len(kept(on_the_way)) + len(outermost(on_the_way)) - 1}")
    one.go_on()
    address = finish(one, on_the_way)
    one.page.goto(one.address + address)
    expect(one.page.get_by_role("heading", level=1)).to_have_text("Receipt", timeout=20_000)
    other.page.bring_to_front()
    expect(line(other, first)).to_contain_text("in already", timeout=20_000)
    expect(line(other, second)).to_contain_text("scanned")
    other.scan(first)
    expect(other.page.locator(".last")).to_contain_text("is in already. It needs no second receipt.")
    for user in (one, other):
        user.page.context.close()


def test_a_receipt_that_is_not_on_record_yet_waits(desk: User) -> None:
    desk.page.goto(f"{desk.address}/receipts/01a1a496-aae0-7000-8000-00000000000a/")
    expect(desk.page.get_by_role("heading", level=1)).to_have_text("Not received yet")
