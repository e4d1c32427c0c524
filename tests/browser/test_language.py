"""Spanish in a browser: chosen without script, kept by the phone's worker, and narrow enough."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from custody.web import work
from tests.browser.conftest import CHROMIUM, OPTIONS
from tests.browser.delivering import keep, until
from tests.browser.looking import faults, open_page
from tests.browser.serving import Serving
from tests.browser.test_look import paths
from tests.browser.test_worker import KEPT, READY
from tests.web.evening import Evening
from tests.world_acts import Deed

pytestmark = pytest.mark.one_engine


@pytest.fixture
def spanish(browser: Browser) -> Iterator[Browser]:
    """A browser that asks for Spanish. (A context's `locale` would not reach its workers.)"""
    found = browser.browser_type.launch(executable_path=CHROMIUM, args=[*OPTIONS, "--accept-lang=es-US,es"])
    yield found
    found.close()


def at_work(browser: Browser, serving: Serving) -> Page:
    """A page in English whose worker is in charge."""
    page = open_page(browser, width=360)
    page.goto(f"{serving.address}/at-work/")
    until(lambda: page.evaluate(READY) == "activated")
    return page


def test_the_language_is_switched_without_script(browser: Browser, address: str, evening: Evening) -> None:
    page = open_page(browser, width=360, script=False)
    page.goto(f"{address}/findings/?status=all")
    page.get_by_role("button", name="Español").click()
    expect(page.locator("h1")).to_have_text("Hallazgos")
    assert page.url == f"{address}/findings/?status=all"
    page.goto(f"{address}/")
    expect(page.locator("html")).to_have_attribute("lang", "es-US")
    page.get_by_role("button", name="English").click()
    expect(page.locator("html")).to_have_attribute("lang", "en")
    page.context.close()


@pytest.mark.parametrize("width", [320, 360])
def test_no_spanish_page_scrolls_sideways_and_axe_finds_nothing(
    spanish: Browser, address: str, evening: Evening, width: int
) -> None:
    page = open_page(spanish, width=width)
    for name, path in {**paths(evening), **{each: each for each in work.list_frames()}}.items():
        page.goto(address + path)
        expect(page.locator("html")).to_have_attribute("lang", "es-US")
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        if width == 360:
            assert faults(page) == [], name
    page.context.close()


def test_the_worker_keeps_the_frames_in_the_language_of_the_browser(spanish: Browser, serving: Serving) -> None:
    page = open_page(spanish, width=360)
    page.goto(f"{serving.address}/at-work/")
    until(lambda: page.evaluate(READY) == "activated")
    serving.stop()
    for path in work.list_frames():
        page.goto(f"{serving.address}{path}")
        expect(page.locator("html")).to_have_attribute("lang", "es-US")
        expect(page.locator("#outbox-status")).to_have_text("Todo enviado")
    page.context.close()


def test_the_phone_changes_its_language_and_keeps_it_without_a_network(browser: Browser, serving: Serving) -> None:
    page = at_work(browser, serving)
    page.get_by_role("button", name="Español").click()
    expect(page.locator("h1")).to_have_text("¿Qué lugar es este?", timeout=20_000)
    until(lambda: len(page.evaluate(KEPT)) == 1)
    serving.stop()
    for path in work.list_frames():
        page.goto(f"{serving.address}{path}")
        expect(page.locator("#outbox-status")).to_have_text("Todo enviado")
        expect(page.locator("html")).to_have_attribute("lang", "es-US")
    page.context.close()


def test_the_language_changes_once_nothing_waits(browser: Browser, serving: Serving, deeds: list[Deed]) -> None:
    """As with any other version: what is in the outbox is sent by the program that made it."""
    page = at_work(browser, serving)
    page.reload()
    serving.faults = ["error"] * 1000
    keep(page, deeds[:1])
    page.get_by_role("button", name="Español").click()
    expect(page.locator("#notice-newer")).to_contain_text("waits until nothing is left", timeout=20_000)
    expect(page.locator("html")).to_have_attribute("lang", "en")
    serving.faults = []
    page.evaluate("void import('/static/custody/js/phone/outbox.js').then((it) => it.send())")
    expect(page.locator("html")).to_have_attribute("lang", "es-US", timeout=20_000)
    page.context.close()


def test_scripts_say_times_as_in_the_united_states(spanish: Browser, serving: Serving) -> None:
    """CLDR names the zone of the Central states in es-US, and only counts its hours in es."""
    page = open_page(spanish, width=360)
    page.goto(f"{serving.address}/at-work/")
    script = """new Intl.DateTimeFormat(document.documentElement.lang, { timeZone: "America/Chicago", hour: "2-digit",
        minute: "2-digit", hourCycle: "h23", timeZoneName: "short" }).format(new Date("2026-11-04T03:25:00Z"))"""
    assert page.evaluate(script) == "21:25 CST"
    page.context.close()
