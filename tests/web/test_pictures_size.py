"""Pages with pictures: as many queries for a thousand things as for ten, on both engines."""

from __future__ import annotations

import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pytest_django.fixtures import Settings

from custody import clock, store
from custody.projections.reading import CHUNK
from tests.web.evening import DRILL
from tests.web.test_pages import html_of
from tests.world import ELECTION, World
from tests.world_register import JURISDICTION
from tests.worlds_on_record import put_deeds, put_register

pytestmark = pytest.mark.django_db
MANY, BATCH = 1_000, 500


@pytest.fixture
def world(settings: Settings, monkeypatch: pytest.MonkeyPatch) -> World:
    """Two places at the same point of their evening; the second has a thousand pollbooks more, in its case."""
    settings.CUSTODY_REHEARSAL = DRILL
    world = World(places=2, log=f"{JURISDICTION}/{DRILL}")
    books = [world.add_item("pollbook") for _ in range(MANY)]
    for code in books:
        world.change("kits", election=ELECTION, site="P02", item=code)
    for place in world.places:
        world.until(place, "open_polls")
        case, crew, clerks = world.kits[place].case, world.chief(place), world.party("warehouse_clerk")
        for start in range(0, MANY if place == "P02" else 2, BATCH):
            batch = books[start : start + BATCH] if place == "P02" else [world.kits[place].pollbook]
            world.handoff(batch, clerks, crew, "issue")
            world.pack(case, batch, crew)
    with transaction.atomic():
        put_register(world)
    put_deeds(store.make_log(JURISDICTION, DRILL, store.LogKind.REHEARSAL), world.lines())
    monkeypatch.setattr(clock, "now", lambda: world.time("22:00"))
    return world


def queries(client: Client, address: str) -> int:
    html_of(client, address)  # what is read once a process is read now
    with CaptureQueriesContext(connection) as captured:
        html_of(client, address)
    return len(captured)


def test_a_page_takes_no_more_queries_for_a_thousand_things(client: Client, world: World) -> None:
    addresses = {
        "item": "/items/{case}/",
        "container": "/containers/{case}/",
        "seal": "/seals/{seal}/",
        "place": "/places/{place}/",
    }
    for name, address in addresses.items():
        few, many = (
            queries(client, address.format(case=world.kits[place].case, seal=seal_of(world, place), place=place))
            for place in world.places
        )
        # Values go to the database in chunks: of each kind of query two or three where one was enough.
        chunks = -(-MANY // CHUNK)
        assert few <= 35, (name, few)
        assert many <= few + 3 * chunks, (name, few, many)
    assert queries(client, "/places/") <= 25


def seal_of(world: World, place: str) -> str:
    return world.in_place[world.kits[place].scanner, "bin"]


def test_what_is_shown_of_a_thousand_things_is_bounded_and_says_so(client: Client, world: World) -> None:
    case = world.kits["P02"].case
    html = html_of(client, f"/containers/{case}/")
    assert html.count('<li><span><a class="code" href="/items/') == 200
    assert "and 800 more" in html
    place = html_of(client, "/places/P02/")
    assert place.count('<li class="cell') == 300
    assert f"and {MANY + 10 - 300} more; the table counts them too" in place
