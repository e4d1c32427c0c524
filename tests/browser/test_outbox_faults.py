"""The outbox before a server that is really switched off, answers badly or says nothing, and on a phone that dies or is full."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Thread

import pytest
from django.core.cache import cache
from playwright.sync_api import Browser, Locator, Page, expect
from rest_framework.throttling import ScopedRateThrottle

from custody import clock
from tests.browser.conftest import CHROMIUM, OPTIONS
from tests.browser.delivering import MODULES, OUTBOX, ids, keep, keep_envelopes, on_record, send, states, until
from tests.browser.looking import open_page
from tests.browser.serving import Serving
from tests.world_acts import Deed

pytestmark = pytest.mark.one_engine

SEED = 20261103
RECORDING, REFUSING = ("half", "mangled", "lost"), ("error", "proxy", "busy")
NOTHING_WAITS = "All sent"


@pytest.fixture
def page(browser: Browser, serving: Serving, deeds: list[Deed]) -> Iterator[Page]:
    page = open_page(browser, width=360)
    page.goto(f"{serving.address}/at-work/outbox/")
    yield page
    page.context.close()


def test_what_was_done_while_the_server_is_off_goes_when_it_is_back(
    page: Page, serving: Serving, deeds: list[Deed]
) -> None:
    serving.stop()
    keep(page, deeds[:3])
    assert not send(page)
    expect(page.locator("#outbox-status")).to_have_text("Saved on this phone · 3 to send")
    serving.start()
    until(lambda: states(page) == ["sent"] * 3)  # by itself
    expect(page.locator("#outbox-status")).to_have_text(NOTHING_WAITS)
    assert on_record() == ids(deeds[:3])


@pytest.mark.parametrize("event", ["online", "seen again"])
def test_a_network_that_is_back_is_noticed_at_once(page: Page, serving: Serving, deeds: list[Deed], event: str) -> None:
    serving.stop()
    keep(page, deeds[:1])
    for _ in range(4):  # so that the next try by itself would be half a minute away
        assert not send(page)
    serving.start()
    target = {"online": "window.dispatchEvent(new Event('online'))", "seen again": SEEN_AGAIN}[event]
    page.evaluate(target)
    until(lambda: states(page) == ["sent"], seconds=5)


SEEN_AGAIN = "document.dispatchEvent(new Event('visibilitychange'))"


def test_what_is_added_goes_at_once(page: Page, deeds: list[Deed]) -> None:
    expect(page.locator("#outbox-status")).to_have_text(NOTHING_WAITS)
    assert send(page)  # what the page began with is over
    keep(page, deeds[:1])
    until(lambda: states(page) == ["sent"], seconds=3)


def test_what_is_added_while_another_page_sends_is_not_forgotten(page: Page, deeds: list[Deed]) -> None:
    """The other page looks for the last time, then this one adds: it looks again by itself."""
    other = page.context.new_page()
    other.goto(page.url)
    hold = "() => { navigator.locks.request('custody-outbox', () => new Promise((end) => { window.end = end; })); }"
    other.evaluate(hold)
    keep(page, deeds[:1])
    assert not send(page)
    other.evaluate("window.end()")
    other.close()
    until(lambda: states(page) == ["sent"], seconds=8)


@pytest.mark.parametrize("fault", [*RECORDING, *REFUSING])
def test_no_bad_answer_loses_or_doubles_an_entry(page: Page, serving: Serving, deeds: list[Deed], fault: str) -> None:
    serving.faults = [fault]
    keep(page, deeds[:1])
    until(lambda: states(page) == ["sent"])
    assert serving.deliveries == 2  # of the second some is the browser's own: it sends again where nothing came back
    assert on_record() == ids(deeds[:1])


def test_any_run_of_bad_answers_leaves_every_entry_once_and_in_order(
    page: Page, serving: Serving, deeds: list[Deed]
) -> None:
    """Forty deliveries, of which two in three go wrong, two pages that send, and one that is left again and again."""
    chance = random.Random(SEED)  # noqa: S311 - it has to come out the same again
    serving.faults = [chance.choice(["none", *RECORDING, "error", "proxy"]) for _ in range(40)]
    other = page.context.new_page()
    other.goto(page.url)
    keep(page, deeds[:8])
    while "waiting" in states(other):
        page.evaluate(SEEN_AGAIN)
        other.evaluate(SEEN_AGAIN)
        if chance.random() < 0.3:
            page.reload()
    assert states(other) == ["sent"] * 8
    assert on_record() == ids(deeds[:8])
    assert serving.deliveries > 8


def test_a_server_that_says_nothing_is_given_up_in_time(page: Page, serving: Serving, deeds: list[Deed]) -> None:
    """Twenty seconds, which this page counts as one."""
    page.evaluate("""() => {
        const real = AbortSignal.timeout;
        window.patience = [];
        AbortSignal.timeout = (time) => { window.patience.push(time); return real.call(AbortSignal, time / 20); };
    }""")
    serving.faults = ["silent"]
    keep(page, deeds[:1])
    until(lambda: states(page) == ["sent"], seconds=10)
    assert page.evaluate("window.patience.slice(0, 2)") == [20_000, 20_000]
    assert serving.deliveries == 2
    assert on_record() == ids(deeds[:1])


def test_a_server_that_is_busy_is_left_alone_for_as_long_as_it_says(
    page: Page, serving: Serving, deeds: list[Deed]
) -> None:
    """RFC 6585 section 4, RFC 9110 section 10.2.3: `Retry-After`, here of three seconds, by the page's own clock."""
    page.clock.install()
    page.reload()
    page.clock.pause_at(datetime.now(UTC) + timedelta(minutes=1))
    serving.faults = ["busy"]
    keep(page, deeds[:1])
    assert not send(page)
    keep(page, deeds[1:2])
    for passed in (0, 2_900):
        page.clock.fast_forward(passed)
        page.evaluate(SEEN_AGAIN)
        assert not send(page)
        assert serving.deliveries == 1
    page.clock.fast_forward(200)
    until(lambda: states(page) == ["sent"] * 2)


def test_the_log_itself_is_busy_for_who_asks_too_often(
    page: Page, serving: Serving, deeds: list[Deed], monkeypatch: pytest.MonkeyPatch
) -> None:
    cache.clear()
    monkeypatch.setattr(ScopedRateThrottle, "THROTTLE_RATES", {"entries": "2/min"})
    keep(page, deeds[:3])
    until(lambda: serving.deliveries == 3)
    time.sleep(0.5)
    page.evaluate(SEEN_AGAIN)
    assert not send(page)
    assert (serving.deliveries, states(page)) == (3, ["sent", "sent", "waiting"])
    cache.clear()


def test_too_large_for_a_machine_on_the_way_is_parked_and_blocks_nothing(
    page: Page, serving: Serving, deeds: list[Deed]
) -> None:
    serving.faults = ["large"]
    keep(page, deeds[:2])
    until(lambda: states(page) == ["parked", "sent"])
    expect(page.get_by_text("It was refused on the way as too large.")).to_be_visible()
    assert on_record() == ids(deeds[1:2])


def test_what_was_refused_is_tried_again_when_asked(page: Page, serving: Serving, deeds: list[Deed]) -> None:
    serving.faults = ["large"]
    keep(page, deeds[:1])
    until(lambda: states(page) == ["parked"])
    page.get_by_role("button", name="Try again").click()
    expect(page.get_by_text("Everything has been sent.")).to_be_visible()
    assert on_record() == ids(deeds[:1])


def test_other_bytes_under_a_known_id_are_parked_with_the_reason(
    page: Page, serving: Serving, deeds: list[Deed]
) -> None:
    """The log refuses them by itself: 409."""
    first = deeds[0]
    changed = replace(first, payload={**first.payload, "note": "otherwise"})
    keep(page, [first])
    until(lambda: states(page) == ["sent"])
    page.evaluate(f"{OUTBOX}.then((it) => it.forgetSent())")
    keep_envelopes(page, [changed.envelope(), deeds[1].envelope()])
    until(lambda: states(page) == ["parked", "sent"])
    expect(page.locator(".letters .code", has_text="id-taken")).to_be_visible()
    assert on_record() == ids(deeds[:2])


def test_a_full_phone_says_so_before_the_act_is_done(page: Page, serving: Serving, deeds: list[Deed]) -> None:
    """Chromium lets a test set how much an origin may keep. Nothing is half kept, and nothing that is not kept is sent."""
    chromium = page.context.new_cdp_session(page)
    chromium.send("Storage.overrideQuotaForOrigin", {"origin": serving.address, "quotaSize": 1})
    script = f"(each) => {OUTBOX}.then((it) => it.add(each, 'An act')).then(() => 'kept', (fault) => fault.name)"
    assert page.evaluate(script, deeds[0].envelope()) == "QuotaExceededError"
    assert states(page) == []
    assert send(page)
    assert (serving.deliveries, on_record()) == (0, [])
    chromium.send("Storage.overrideQuotaForOrigin", {"origin": serving.address})
    assert page.evaluate(script, deeds[0].envelope()) == "kept"
    until(lambda: states(page) == ["sent"])
    assert on_record() == ids(deeds[:1])


def test_signing_out_forgets_everything_but_what_was_not_sent(page: Page, serving: Serving, deeds: list[Deed]) -> None:
    keep(page, deeds[:1])
    until(lambda: states(page) == ["sent"])
    serving.stop()
    keep(page, deeds[1:3])
    forgotten = f"""async () => {{
        const [pocket, drafts, settings, database, clock] = await Promise.all(
            ["pocket", "drafts", "settings", "database", "clock"].map((name) => import(`{MODULES}/phone/${{name}}.js`)));
        await database.write("pockets", (store) => store.put({{ site: "P01", people: [] }}));
        await pocket.choose("P01");
        await drafts.put("hand-over", {{ note: "in hand" }});
        const before = [await pocket.current(), await drafts.get("hand-over"), clock.offset() !== 0];
        await pocket.forget();
        const left = await database.read("settings", (store) => store.getAllKeys());
        return [before.every(Boolean), await pocket.current(), await drafts.get("hand-over") ?? null, left];
    }}"""
    assert page.evaluate(forgotten) == [True, None, None, ["clock"]]
    assert states(page) == ["waiting"] * 2
    serving.start()
    until(lambda: states(page) == ["sent"] * 2)
    assert on_record() == ids(deeds[:3])


def test_an_answer_that_took_its_time_makes_no_clock_wrong(page: Page) -> None:
    """What is found is compared with how long it took; what fits within the wait is no news."""
    compare = f"""async ([server, asked]) => {{
        const clock = await import("{MODULES}/phone/clock.js");
        const now = Date.now();
        await clock.compare(now / 1000 + server, now - asked);
        return clock.offset();
    }}"""
    assert page.evaluate(compare, [0, 0]) == 0
    assert page.evaluate(compare, [-1.4, 0]) == 0
    assert page.evaluate(compare, [-15, 20_000]) == 0
    assert page.evaluate(compare, [-720, 0]) == 720
    assert page.evaluate(compare, [-725, 20_000]) == 720
    assert page.evaluate(compare, [-700, 0]) == 700
    assert page.evaluate(compare, [300, 0]) == -300
    assert page.evaluate(compare, [0, 0]) == 0


class Phone:
    """A browser of the test's own, with a profile that lasts, and a plug that can be pulled: SIGKILL to all its processes."""

    def __init__(self, browser: Browser, profile: Path) -> None:
        command = [CHROMIUM, "--headless=new", "--remote-debugging-port=0", f"--user-data-dir={profile}", *OPTIONS]
        self.process = subprocess.Popen(  # noqa: S603
            [*command, "about:blank"], stderr=subprocess.PIPE, text=True, start_new_session=True
        )
        assert self.process.stderr is not None
        lines = iter(self.process.stderr.readline, "")
        where = next(line.split()[-1] for line in lines if "DevTools listening on" in line)
        Thread(target=self.process.stderr.read, daemon=True).start()
        self.page = browser.browser_type.connect_over_cdp(where).contexts[0].new_page()

    def die(self) -> None:
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


@pytest.mark.parametrize("fault", ["silent", "lost"])
def test_a_battery_that_dies_in_the_middle_of_sending_loses_and_doubles_nothing(
    browser: Browser, serving: Serving, deeds: list[Deed], tmp_path: Path, fault: str
) -> None:
    profile = tmp_path / "profile"
    phone = Phone(browser, profile)
    try:
        phone.page.goto(f"{serving.address}/at-work/outbox/")
        serving.faults = ["none", fault]
        keep(phone.page, deeds[:4])
        until(lambda: serving.deliveries >= 2)
    finally:
        phone.die()
    for left in profile.glob("Singleton*"):  # what says that the profile is in use
        left.unlink()
    again = Phone(browser, profile)
    try:
        again.page.goto(f"{serving.address}/at-work/outbox/")
        until(lambda: states(again.page) == ["sent"] * 4)
        assert on_record() == ids(deeds[:4])
    finally:
        again.die()


def told(page: Page) -> Locator:
    return page.locator("#notice-clock")


@pytest.mark.parametrize(
    ("ahead", "span"), [(-720, "12 minutes fast"), (-5 * 3600, "5 hours fast"), (720, "12 minutes slow")]
)
def test_entries_carry_by_how_much_the_clock_was_wrong(
    browser: Browser, serving: Serving, deeds: list[Deed], monkeypatch: pytest.MonkeyPatch, ahead: int, span: str
) -> None:
    """From the first receipt on; what was signed before goes as it was signed."""
    monkeypatch.setattr(clock, "now", lambda: int(time.time()) + ahead)
    page = open_page(browser, width=360)
    page.goto(f"{serving.address}/at-work/outbox/")
    expect(told(page)).to_have_count(0)
    keep(page, deeds[:1])
    expect(told(page)).to_have_text(f"This phone’s clock is {span}. The times on record are put right.")
    page.reload()
    expect(told(page)).to_be_visible()
    now, offset = page.evaluate(f"import('{MODULES}/phone/clock.js').then((it) => [it.now(), it.offset()])")
    assert abs(now - clock.now()) <= 2
    assert abs(offset + ahead) <= 2
    page.context.close()
