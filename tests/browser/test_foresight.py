"""What the page sees coming is what the log then finds: the same codes, for handoffs and acts that go wrong in one way each."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.db import transaction
from playwright.sync_api import Browser, Page
from pytest_django.fixtures import Settings

from custody import clock, store
from custody.queries.findings import list_findings
from custody.queries.pocket import find_pocket_place, get_pocket
from custody.queries.shown import get_shown
from tests.browser.looking import open_page
from tests.web.evening import DRILL
from tests.world import World, reading
from tests.world_acts import Deed
from tests.world_register import JURISDICTION
from tests.worlds_on_record import put_deeds, put_register

pytestmark = pytest.mark.one_engine

PLACE = "P01"
FORESEE = """async ([pocket, members]) => {
    const { foresee } = await import("/static/custody/js/foresight/findings.js");
    const { makeWorld } = await import("/static/custody/js/phone/world.js");
    return foresee(members, makeWorld(pocket)).map((each) => each.rule);
}"""
FORESEEN = {
    "lone-custodian",
    "same-person-both-ends",
    "same-affiliation",
    "custody-gap",
    "not-assigned",
    "not-on-register",
    "seal-mismatch",
    "seal-not-intact",
    "seal-unread",
    "unsealed-transit",
    "seal-over-seal",
    "seal-unknown",
    "contents-differ",
    "opened-while-sealed",
    "second-device",
    "memory-left-in",
    "step-out-of-order",
}
"""The rules that the page looks at; of others the log alone speaks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    world: World
    page: Page


@pytest.fixture
def scene(browser: Browser, server: str, settings: Settings, monkeypatch: pytest.MonkeyPatch) -> Iterator[Scene]:
    """A place packed for the way back, before anybody leaves."""
    settings.CUSTODY_REHEARSAL = DRILL
    world = World(places=2, log=f"{JURISDICTION}/{DRILL}")
    world.until(PLACE, "pack_for_return")
    world.at = world.time("20:50")
    monkeypatch.setattr(clock, "now", lambda: world.at + 60)
    page = open_page(browser, width=360)
    page.goto(f"{server}/at-work/missing/")
    yield Scene(world=world, page=page)
    page.context.close()


Do = Callable[[World], Deed]


def leave(world: World, **more: Any) -> Deed:
    """Everything goes to the drivers."""
    return world.handoff(world.returned(PLACE), world.chief(PLACE), world.drivers(PLACE), "return", **more)


def well(world: World) -> Deed:
    return leave(world)


def alone(world: World) -> Deed:
    drivers = world.drivers(PLACE) | {"people": world.drivers(PLACE)["people"][:1]}
    return world.handoff(world.returned(PLACE), world.chief(PLACE), drivers, "return")


def to_oneself(world: World) -> Deed:
    chief = world.chief(PLACE)
    return world.handoff(world.returned(PLACE), chief, world.drivers(PLACE) | {"people": chief["people"]}, "return")


def misread(world: World) -> Deed:
    box = world.kits[PLACE].containers[0]
    return world.inspect([reading(box, "front", "S0099999")], world.chief(PLACE))


def damaged(world: World) -> Deed:
    box = world.kits[PLACE].containers[0]
    return world.inspect([reading(box, "front", world.in_place[box, "front"], "damaged")], world.chief(PLACE))


def unread(world: World) -> Deed:
    return leave(world, seals=[])


def over(world: World) -> Deed:
    box = world.kits[PLACE].containers[0]
    return world.seal([reading(box, "front", world.loose[PLACE][0])], world.chief(PLACE))


def of_no_lot(world: World) -> Deed:
    box = world.kits[PLACE].containers[0]
    return world.seal([reading(box, "front", "Z7777777")], world.chief(PLACE))


def into_sealed(world: World) -> Deed:
    kit = world.kits[PLACE]
    return world.pack(kit.containers[0], [kit.keys], world.chief(PLACE))


def out_of_the_case(world: World) -> Deed:
    kit = world.kits[PLACE]
    return world.handoff([kit.memory], world.chief(PLACE), world.drivers(PLACE), "return")


def unknown(world: World) -> Deed:
    return world.handoff(["BC99999X"], world.chief(PLACE), world.drivers(PLACE), "return", seals=[])


SCENES: dict[str, Do] = {
    each.__name__: each
    for each in (
        well,
        alone,
        to_oneself,
        misread,
        damaged,
        unread,
        over,
        of_no_lot,
        into_sealed,
        out_of_the_case,
        unknown,
    )
}


@pytest.mark.parametrize("name", SCENES)
def test_the_page_sees_coming_what_the_log_finds(scene: Scene, name: str) -> None:
    world = scene.world
    before = list(world.lines())
    deed = SCENES[name](world)
    with transaction.atomic():
        put_register(world)
    log = store.make_log(JURISDICTION, DRILL, store.LogKind.REHEARSAL)
    put_deeds(log, before)
    shown = get_shown()
    place = find_pocket_place(shown, PLACE)
    assert place is not None
    foreseen = scene.page.evaluate(FORESEE, [get_pocket(shown, place), deed.payload])
    put_deeds(log, [deed])
    listed = [
        each.finding for each in list_findings(store.open_log(JURISDICTION, DRILL), now=world.at + 60, everything=True)
    ]
    found = {each.rule for each in listed if deed.id in each.entries}
    assert set(foreseen) == found & FORESEEN
    assert (name == "well") == (not foreseen)
