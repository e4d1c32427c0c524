"""The outbox through every fault of a network, a server and a phone: nothing lost, nothing doubled, in order."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.core.management import call_command
from playwright.sync_api import Browser, Page, expect

from custody import clock
from tests.browser.delivering import LOG, OUTBOX, ids, keep, keep_envelopes, on_record, states, until
from tests.browser.looking import open_page
from tests.web.evening import DRILL
from tests.world_acts import Deed

pytestmark = pytest.mark.one_engine

ENTRIES = "**/api/v1/entries/"


@pytest.fixture
def page(browser: Browser, server: str, deeds: list[Deed]) -> Iterator[Page]:
    page = open_page(browser, width=360)
    page.goto(f"{server}/at-work/outbox/")
    yield page
    page.context.close()


def test_entries_leave_in_order_and_stay_until_a_pocket_register_has_them(page: Page, deeds: list[Deed]) -> None:
    keep(page, deeds[:5])
    until(lambda: states(page) == ["sent"] * 5)
    assert on_record() == ids(deeds[:5])
    expect(page.locator("#outbox-status")).to_have_text("All sent")
    page.evaluate(f"{OUTBOX}.then((it) => it.forgetBefore('{LOG}', 3))")
    assert states(page) == ["sent"] * 2


def test_what_is_refused_is_parked_and_blocks_nothing(page: Page, deeds: list[Deed]) -> None:
    good, bad, other = deeds[:3]
    spoiled = bad.envelope()
    spoiled["signatures"][0]["sig"] = "A" * 86 + "=="
    keep_envelopes(page, [good.envelope(), spoiled, other.envelope()])
    until(lambda: states(page) == ["sent", "parked", "sent"])
    assert on_record() == ids([good, other])
    expect(page.locator("#outbox-status")).to_have_text("All sent · 1 not taken")
    expect(page.get_by_text("A signature does not verify.")).to_be_visible()
    page.get_by_role("button", name="Take off the list").click()
    assert states(page) == ["sent", "parked", "sent"]
    page.get_by_role("button", name="Take it off for good").click()
    expect(page.get_by_text("A signature does not verify.")).to_have_count(0)
    assert states(page) == ["sent", "sent"]


def test_a_refusal_stands_at_the_member_it_is_about(page: Page, deeds: list[Deed]) -> None:
    detail = "note must be text."
    errors = [{"path": "note", "code": "wrong-type", "detail": detail}]
    body = json.dumps({"code": "wrong-type", "detail": detail, "errors": errors})
    page.route(ENTRIES, lambda route: route.fulfill(status=422, content_type="application/problem+json", body=body))
    keep(page, deeds[:1])
    until(lambda: states(page) == ["parked"])
    expect(page.locator(".letters").get_by_text("at note")).to_be_visible()


def test_two_pages_never_send_at_once(page: Page, deeds: list[Deed]) -> None:
    other = page.context.new_page()
    other.goto(page.url)
    answered: list[int] = []
    page.context.on("response", lambda answer: answered.append(answer.status) if "/entries/" in answer.url else None)
    page.context.set_offline(True)
    keep(page, deeds[:6])
    page.context.set_offline(False)
    until(lambda: states(page) == ["sent"] * 6)
    assert len(on_record()) == 6
    assert answered == [201] * 6


def test_the_outbox_is_carried_as_a_file(page: Page, deeds: list[Deed], tmp_path: Path) -> None:
    """What `record` makes of the file; and sent from the phone afterwards nothing is doubled."""
    page.route(ENTRIES, lambda route: route.abort())
    keep(page, deeds[:3])
    with page.expect_download() as download:
        page.get_by_role("button", name="Save as a file").click()
    file = tmp_path / "carried.jsonl"
    download.value.save_as(file)
    assert len(file.read_text().splitlines()) == 3
    call_command("record", str(file), "--rehearsal", DRILL)
    assert on_record() == ids(deeds[:3])
    page.unroute(ENTRIES)
    page.get_by_role("button", name="Send now").click()
    expect(page.get_by_text("Everything has been sent.")).to_be_visible()
    assert on_record() == ids(deeds[:3])


@pytest.mark.parametrize("minutes", [-12, 0, 12])
def test_a_wrong_clock_is_told_and_put_right(browser: Browser, server: str, deeds: list[Deed], minutes: int) -> None:
    page = open_page(browser, width=360)
    page.clock.set_system_time(datetime.fromtimestamp(clock.now() + minutes * 60, UTC))
    page.goto(f"{server}/at-work/outbox/")
    keep(page, deeds[:1])
    until(lambda: states(page) == ["sent"])
    told = page.locator(".notice")
    if minutes == 0:
        assert told.count() == 0
    else:
        expect(told).to_contain_text(f"12 minutes {'fast' if minutes > 0 else 'slow'}")
    offset = page.evaluate("import('/static/custody/js/phone/clock.js').then((it) => it.offset())")
    assert abs(offset - minutes * 60) < 3
    page.reload()
    now = page.evaluate("import('/static/custody/js/phone/clock.js').then((it) => it.now())")
    assert abs(now - clock.now()) < 5
    page.context.close()
