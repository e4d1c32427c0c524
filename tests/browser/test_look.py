"""The pages in a browser: WCAG 2.2 AA by axe-core, narrow screens, the keyboard, no script, the security policy."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from tests.browser.looking import Scheme, faults, open_page
from tests.conftest import lacking
from tests.web.evening import Evening

pytestmark = pytest.mark.one_engine


def paths(evening: Evening) -> dict[str, str]:
    """One of every page, by name."""
    box = evening.world.kits["P01"].containers[0]
    return {
        "start": "/",
        "findings": "/findings/?status=all",
        "no findings": "/findings/?site=P01",
        "finding": f"/findings/lone-custodian/{evening.lone.id}:receive",
        "cleared finding": f"/findings/seal-mismatch/{evening.misread.id}:{box}:front",
        "item": f"/items/{box}/",
        "item in a container": f"/items/{evening.world.kits['P02'].memory}/",
        "item with a finding": f"/items/{evening.world.kits['P02'].case}/",
        "search": "/search/?q=BC0",
        "nothing found": "/search/?q=ZZZ",
        "moment": "/moment/",
        "difference": "/moment/?at=2026-11-03T21:30&since=2026-11-03T08:00",
        "no such time": "/moment/?at=soon",
        "rules": "/rules/",
        "rule": "/rules/lone-custodian/",
        "rule without policy": "/rules/custody-gap/",
        "findings of an item": f"/findings/?status=all&item={evening.world.kits['P02'].case}",
        "several seals": "/search/?q=S000",
        "container": f"/containers/{evening.world.kits['P02'].case}/",
        "seal": f"/seals/{evening.world.in_place[box, 'front']}/",
        "seal of two makers": "/seals/T0000007/",
        "unknown seal": "/seals/Q99/",
        "places": "/places/",
        "place": "/places/P02/",
        "place that takes in": "/places/RS/",
        "unknown place": "/places/P99/",
        "receipt": f"/receipts/{evening.lone.id}/",
        "public view": "/public/",
        "rights": "/rights/",
        "entry": f"/entries/{evening.lone.id}/",
        "night": "/night/",
        "night, none": "/night/?state=overdue",
        "report of the night": "/night/report/",
        "night on the wall": "/night/wall/",
        "sign-in": "/sign-in/",
        "not found": "/nowhere",
    }


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_axe_finds_nothing(browser: Browser, address: str, evening: Evening, width: int, scheme: Scheme) -> None:
    page = open_page(browser, width=width, scheme=scheme)
    found: dict[str, list[Any]] = {}
    for name, path in paths(evening).items():
        page.goto(address + path)
        found[name] = faults(page)
    page.context.close()
    assert {name: violations for name, violations in found.items() if violations} == {}


def test_nothing_scrolls_sideways_at_320_pixels(browser: Browser, address: str, evening: Evening) -> None:
    """WCAG 2.2, 1.4.10: content reflows at a width of 320 CSS pixels."""
    page = open_page(browser, width=320)
    widths = {}
    for name, path in paths(evening).items():
        page.goto(address + path)
        widths[name] = page.evaluate("document.documentElement.scrollWidth")
    page.context.close()
    assert widths == dict.fromkeys(widths, 320)


def test_controls_are_44_pixels_high(browser: Browser, address: str, evening: Evening) -> None:
    page = open_page(browser, width=360)
    page.goto(f"{address}/findings/")
    heights = {
        str(each.evaluate("each => each.outerHTML"))[:60]: each.bounding_box()
        for each in page.locator("header a, header input, button, select, .tap").all()
    }
    page.context.close()
    assert len(heights) > 8
    assert {name: box for name, box in heights.items() if box is None or round(box["height"]) < 44} == {}


def test_the_keyboard_reaches_the_content_first(browser: Browser, address: str, evening: Evening) -> None:
    page = open_page(browser, width=1280)
    page.goto(address)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the content"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    page.context.close()


def test_filters_and_search_work_without_script(browser: Browser, address: str, evening: Evening) -> None:
    page = open_page(browser, width=360, script=False)
    page.goto(f"{address}/findings/")
    page.select_option("#by-status", "cleared")
    page.click("text=Show")
    assert page.locator(".findings > li").count() == 1
    box = evening.world.kits["P01"].containers[0]
    page.fill("#find", box.lower())
    page.get_by_role("button", name="Find", exact=True).click()
    page.wait_for_url(f"{address}/items/{box}/")
    page.context.close()


def test_the_security_policy_stops_nothing_that_pages_need(browser: Browser, address: str, evening: Evening) -> None:
    page = open_page(browser, width=1280)
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    for name, path in paths(evening).items():
        # The browser itself speaks of their status.
        if name not in ("not found", "unknown seal", "unknown place", "no such time"):
            page.goto(address + path)
    background = page.evaluate("getComputedStyle(document.querySelector('.top')).backgroundColor")
    page.context.close()
    assert said == []
    assert background == "rgb(18, 59, 82)"


def test_a_picture_is_read_with_the_keyboard(browser: Browser, address: str, evening: Evening) -> None:
    page = open_page(browser, width=360, script=False)
    page.goto(f"{address}/items/{evening.world.kits['P02'].case}/")
    mark = page.locator(".band a.at").last
    said = mark.locator(".said text").first
    page.mouse.move(0, 0)
    assert not said.is_visible()
    mark.focus()
    assert said.is_visible()
    assert str(said.text_content()).startswith("Critical: ")
    page.keyboard.press("Enter")
    page.wait_for_url(f"{address}/findings/**")
    page.context.close()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_certificate_is_one_sheet(
    browser: Browser, address: str, evening: Evening, paper: str, tmp_path: Path
) -> None:
    """The whole way of a ballot container and a case, from the shelf to the desk."""
    if shutil.which("pdfinfo") is None:
        lacking("browser", "there is no pdfinfo (Debian: poppler-utils)")
    page = open_page(browser, width=1280)
    kit, sheets = evening.world.kits["P01"], {}
    for code in (kit.case, *kit.containers):
        page.goto(f"{address}/containers/{code}/")
        page.pdf(path=tmp_path / "certificate.pdf", format=paper)
        command = ["pdfinfo", str(tmp_path / "certificate.pdf")]
        told = subprocess.run(command, capture_output=True, text=True, check=True)  # noqa: S603
        sheets[code] = re.findall(r"^Pages:\s+(\d+)$", told.stdout, re.MULTILINE)
    page.context.close()
    assert sheets == {code: ["1"] for code in (kit.case, *kit.containers)}
