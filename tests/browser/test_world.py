"""What the phone makes of what was done on it equals what the log makes of it: holders, containers, seals, what is owed."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from http.server import ThreadingHTTPServer
from threading import Thread
from typing import Any

import pytest
from django.db import transaction
from playwright.sync_api import Browser, Page
from pytest_django.fixtures import Settings

from custody import clock, store
from custody.queries.pocket import find_pocket_place, get_pocket
from custody.queries.shown import get_shown
from tests.browser.test_record_bytes import SCRIPTS, Scripts
from tests.web.evening import DRILL
from tests.world import World, reading
from tests.world_acts import Deed
from tests.world_register import JURISDICTION
from tests.worlds_on_record import put_deeds, put_register

pytestmark = [pytest.mark.one_engine, pytest.mark.django_db]

PLACE = "P01"
APPLY = """async ([pocket, entries]) => {
    const { apply, makeWorld } = await import("/phone/world.js");
    const world = entries.reduce(apply, makeWorld(pocket));
    return { items: [...world.items.values()], steps: world.steps };
}"""


@pytest.fixture(scope="module")
def page(browser: Browser) -> Iterator[Page]:
    with ThreadingHTTPServer(("127.0.0.1", 0), partial(Scripts, directory=str(SCRIPTS))) as server:
        Thread(target=server.serve_forever, daemon=True).start()
        page = browser.new_page()
        page.goto(f"http://127.0.0.1:{server.server_port}/")
        yield page
        page.context.close()
        server.shutdown()


@pytest.fixture
def world(settings: Settings, monkeypatch: pytest.MonkeyPatch) -> World:
    """A day from the warehouse to the desk, with what goes otherwise than planned on the way."""
    settings.CUSTODY_REHEARSAL = DRILL
    world = World(places=2, log=f"{JURISDICTION}/{DRILL}")
    world.until(PLACE, "open_polls")
    chief, box = world.chief(PLACE), world.kits[PLACE].containers[0]
    world.incident("lost", chief, box)
    world.incident("found", chief, box)
    for phase in ("noon", "close_polls", "pack_for_return"):
        getattr(world, phase)(PLACE)
    case = world.kits[PLACE].case
    world.inspect([reading(case, "latch", "S0099999")], chief)
    world.inspect([case], chief)
    world.inspect([reading(case, "latch", state="missing")], chief)
    world.inspect([case], chief)
    world.bring_back(PLACE)
    monkeypatch.setattr(clock, "now", lambda: world.at + 60)
    with transaction.atomic():
        put_register(world)
    return world


def pocket() -> dict[str, Any]:
    shown = get_shown()
    place = find_pocket_place(shown, PLACE)
    assert place is not None
    return get_pocket(shown, place)


def facts(items: list[dict[str, Any]]) -> dict[str, Any]:
    return {each["code"]: {name: each[name] for name in ("holder", "container", "seals", "owed")} for each in items}


def done_here(deeds: list[Deed]) -> list[dict[str, Any]]:
    return [deed.payload for deed in deeds if deed.payload["kind"] not in ("amend", "resolve", "hold")]


@pytest.mark.parametrize("part", [0.1, 0.3, 0.5, 0.7, 0.9])
def test_the_phone_goes_on_from_any_moment_as_the_log_does(page: Page, world: World, part: float) -> None:
    log = store.make_log(JURISDICTION, DRILL, store.LogKind.REHEARSAL)
    split = int(len(world.log) * part)
    put_deeds(log, world.log[:split])
    before = pocket()
    put_deeds(log, world.log[split:])
    after = pocket()
    made = page.evaluate(APPLY, [before, done_here(world.log[split:])])
    known = facts(before["items"]).keys() & facts(after["items"]).keys()
    assert len(known) >= 10
    wanted, got = facts(after["items"]), facts(made["items"])
    assert {code: got[code] for code in known} == {code: wanted[code] for code in known}
    assert made["steps"] == after["steps"]


def test_nothing_of_the_pocket_register_is_changed(page: Page, world: World) -> None:
    log = store.make_log(JURISDICTION, DRILL, store.LogKind.REHEARSAL)
    put_deeds(log, world.log[:10])
    script = """async ([pocket, entries]) => {
        const { apply, makeWorld } = await import("/phone/world.js");
        const first = makeWorld(pocket);
        const before = JSON.stringify([pocket, [...first.items.values()]]);
        entries.reduce(apply, first);
        return before === JSON.stringify([pocket, [...first.items.values()]]);
    }"""
    assert page.evaluate(script, [pocket(), done_here(world.log[10:])]) is True
