"""A page at some width, light or dark, and what axe-core finds on it."""

from __future__ import annotations

from typing import Literal

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

# W3C, Web Content Accessibility Guidelines 2.2, levels A and AA, as axe-core tags its rules; and its best practices.
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
ENOUGH_RULES = 15
Scheme = Literal["light", "dark"]


def open_page(browser: Browser, *, width: int, scheme: Scheme = "light", script: bool = True) -> Page:
    context = browser.new_context(
        viewport={"width": width, "height": 900}, color_scheme=scheme, java_script_enabled=script
    )
    return context.new_page()


def faults(page: Page) -> list[tuple[str, list[str]]]:
    """Each rule that the page breaks, with the elements that do; more than `ENOUGH_RULES` others had something to hold of."""
    # Elements are named for violations alone: those of all other rules are most of the answer, and nobody reads them.
    response = Axe().run(page, options={"runOnly": TAGS, "resultTypes": ["violations"]}).response
    assert len(response["passes"]) > ENOUGH_RULES, page.url
    return [(each["id"], [node["html"] for node in each["nodes"]]) for each in response["violations"]]
