"""The pages of the night refresh by themselves: the server goes away and comes back, focus and place on the page stay."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page, expect

from custody import clock, store
from tests.browser.serving import Serving
from tests.web.evening import DRILL, Evening
from tests.world_register import JURISDICTION
from tests.worlds_on_record import put_deeds

pytestmark = pytest.mark.one_engine
ROUND = 31_000
"""Milliseconds: longer than the longest that a page waits before it asks again."""


@pytest.fixture
def page(browser: Browser, evening: Evening, serving: Serving) -> Page:
    context = browser.new_context(viewport={"width": 900, "height": 600})
    opened = context.new_page()
    opened.clock.install()
    return opened


def come_back(evening: Evening) -> None:
    """What was on its way arrives."""
    world, before = evening.world, len(evening.world.log)
    world.arrive("P02")
    put_deeds(store.open_log(JURISDICTION, DRILL), world.log[before:])


@pytest.mark.parametrize("path", ["/night/", "/night/wall/"])
def test_what_came_in_shows_up_without_a_reload(page: Page, evening: Evening, serving: Serving, path: str) -> None:
    page.goto(serving.address + path)
    said = page.locator("#night-status")
    expect(said).to_have_text("As of 22:00 CST. This page refreshes by itself.")
    page.evaluate("window.same = true")
    come_back(evening)
    page.clock.fast_forward(ROUND)
    expect(page.locator("#night-counts .state-on_the_way dd")).to_have_text("0")
    expect(page.locator("#night-live")).to_contain_text("At work: 1, In: 1")  # the keys are still with the chief
    assert page.evaluate("window.same")
    page.context.close()


def test_a_server_that_is_away_is_told_in_words_and_comes_back(
    page: Page, evening: Evening, serving: Serving, monkeypatch: pytest.MonkeyPatch
) -> None:
    page.goto(f"{serving.address}/night/")
    said = page.locator("#night-status")
    expect(said).to_contain_text("As of 22:00 CST")
    serving.stop()
    page.clock.fast_forward(ROUND)
    expect(said).to_have_text("This page could not be refreshed since 22:00 CST; trying again.")
    expect(page.locator("#night-places tbody tr")).to_have_count(2)  # what was there stays
    page.clock.fast_forward(ROUND)
    expect(said).to_have_text("This page could not be refreshed since 22:00 CST; trying again.")
    monkeypatch.setattr(clock, "now", lambda: evening.now + 41 * 60)
    serving.start()
    page.clock.fast_forward(ROUND)
    expect(said).to_have_text("As of 22:41 CST. This page refreshes by itself.")
    expect(page.locator("#night-counts .state-overdue dd")).to_have_text("1")  # since 22:30
    page.context.close()


def test_focus_and_place_on_the_page_stay(
    page: Page, evening: Evening, serving: Serving, monkeypatch: pytest.MonkeyPatch
) -> None:
    page.goto(f"{serving.address}/night/")
    page.locator("#curve-table summary").click()
    link = page.locator("#night-who .ring").first
    link.focus()
    number, before = link.get_attribute("href"), link.bounding_box()
    monkeypatch.setattr(clock, "now", lambda: evening.now + 60)
    page.clock.fast_forward(ROUND)
    expect(page.locator("#night-status")).to_contain_text("22:01 CST")
    active = page.evaluate(
        "({href: document.activeElement.getAttribute('href'), top: document.activeElement.getBoundingClientRect().top})"
    )
    assert before is not None and active["href"] == number
    assert abs(active["top"] - before["y"]) < 2
    assert page.locator("#curve-table").get_attribute("open") is not None
    page.context.close()


def test_it_can_be_held_still(page: Page, evening: Evening, serving: Serving, monkeypatch: pytest.MonkeyPatch) -> None:
    """WCAG 2.2, 2.2.2: what refreshes by itself can be stopped."""
    page.goto(f"{serving.address}/night/")
    hold = page.get_by_role("button", name="Hold still")
    hold.click()
    expect(page.locator("#night-status")).to_have_text("Held still: as of 22:00 CST.")
    monkeypatch.setattr(clock, "now", lambda: evening.now + 60)
    page.clock.fast_forward(3 * ROUND)
    expect(page.locator("#night-status")).to_have_text("Held still: as of 22:00 CST.")
    hold.click()
    expect(page.locator("#night-status")).to_contain_text("As of 22:01 CST")
    page.context.close()


def test_without_script_a_link_refreshes(browser: Browser, evening: Evening, serving: Serving) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{serving.address}/night/?state=in")
    assert page.locator("meta[http-equiv=refresh]").count() == 1
    page.get_by_role("link", name="Refresh", exact=True).click()
    page.wait_for_url(f"{serving.address}/night/?state=in")
    assert page.locator("#night-places tbody tr").count() == 1
    assert not page.locator("#night-hold").is_visible()
    context.close()
