"""What the phone's page works out by itself, held against what the program makes of the same."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from custody.domain.parties import parse_seal_range
from custody.domain.policy import DEFAULT_POLICY
from custody.domain.policy_document import dump_policy
from custody.domain.vocabulary import Purpose, Role, SiteKind
from custody.errors import Refused
from tests.browser.looking import open_page

pytestmark = pytest.mark.one_engine


@pytest.fixture
def page(browser: Browser, server: str) -> Iterator[Page]:
    """A page of the phone, from which its modules can be asked."""
    page = open_page(browser, width=360)
    page.goto(f"{server}/at-work/missing/")
    yield page
    page.context.close()


def ask(page: Page, module: str, call: str, *given: Any) -> Any:
    """What a module answers: `call` is a function of the module and what is given."""
    script = (
        f"async (given) => {{ const it = await import('/static/custody/js/{module}.js'); return ({call})(...given); }}"
    )
    return page.evaluate(script, list(given))


def world(kind: SiteKind, *, closed: bool = False) -> dict[str, Any]:
    steps = [{"step": "polls_closed", "at": "2026-11-04T02:00:00Z", "items": []}] if closed else []
    sites = [{"code": "HERE", "name": "Here", "kind": kind.value}]
    return {"site": "HERE", "sites": sites, "steps": steps, "policy": dump_policy(DEFAULT_POLICY)}


@pytest.mark.parametrize("here", ["release", "receive"])
@pytest.mark.parametrize("kind", SiteKind)
def test_every_handoff_that_is_offered_fits_the_policy(page: Page, kind: SiteKind, here: str) -> None:
    offered = ask(page, "acts/here", "it.routes", world(kind), here)
    own = [Role(role) for role in ask(page, "acts/here", "it.rolesHere", world(kind))]
    assert offered
    for route in offered:
        other, purpose = Role(route["role"]), Purpose(route["purpose"])
        pairs = [(one, other) if here == "release" else (other, one) for one in own]
        assert any(DEFAULT_POLICY.route_fits(purpose, giver, taker) for giver, taker in pairs), route


@pytest.mark.parametrize(
    ("kind", "here", "closed", "expected"),
    [
        # Common practice of the trade, no published source.
        (SiteKind.WAREHOUSE, "release", False, ("issue", "courier")),
        (SiteKind.POLLING_PLACE, "receive", False, ("deliver", "courier")),
        (SiteKind.POLLING_PLACE, "release", False, ("relieve", "poll_chief")),
        (SiteKind.POLLING_PLACE, "release", True, ("return", "courier")),
        (SiteKind.RECEIVING_STATION, "receive", True, ("return", "courier")),
        (SiteKind.RECEIVING_STATION, "release", True, ("transfer", "courier")),
        (SiteKind.COUNT_CENTER, "receive", True, ("transfer", "courier")),
        (SiteKind.VAULT, "receive", True, ("store", "receiving_clerk")),
    ],
)
def test_the_first_offer_is_what_is_usual_then_and_there(
    page: Page, kind: SiteKind, here: str, closed: bool, expected: tuple[str, str]
) -> None:
    first = ask(page, "acts/here", "it.routes", world(kind, closed=closed), here)[0]
    assert (first["purpose"], first["role"]) == expected


@pytest.mark.parametrize(
    ("first", "last"),
    [
        ("S0000026", "S0000029"),
        ("S0000026", ""),
        ("s0000026", "S0000026"),
        ("S0000001", "S0010000"),
        ("S0000001", "S0010001"),
        ("S0000029", "S0000026"),
        ("S0000026", "T0000029"),
        ("S0000026", "S000029"),
        ("0000026", "0000029"),
        ("S", "S"),
        ("A1-026", "A1-029"),
    ],
)
def test_a_run_of_loose_seals_is_taken_as_the_log_takes_it(page: Page, first: str, last: str) -> None:
    said = ask(page, "acts/loose", "it.readRun", first, last)
    one, other = first.upper(), (last or first).upper()
    text = one if one == other else f"{one}..{other}"
    try:
        expected: str | None = parse_seal_range(text).text
    except (Refused, ValueError):
        expected = None
    if not any(each.isdigit() for each in text):
        expected = None  # a number without a digit is a number for the log; nobody types a run of such
    assert said == expected
