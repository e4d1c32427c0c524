"""A real browser before a real server: Debian's Chromium, and the application on a port of its own."""

from __future__ import annotations

import time
from collections.abc import Iterator
from threading import Thread

import pytest
from django.core.servers.basehttp import ThreadedWSGIServer, WSGIRequestHandler
from django.core.wsgi import get_wsgi_application
from django.db import transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from pytest_django.fixtures import Settings

from custody import clock
from tests.browser.departure import Departure, make_departure
from tests.browser.serving import Serving
from tests.conftest import CHROMIUM as CHROMIUM
from tests.conftest import OPTIONS as OPTIONS
from tests.web.evening import DRILL, Evening, make_evening
from tests.world import World
from tests.world_acts import Deed
from tests.world_register import JURISDICTION
from tests.worlds_on_record import put_register


class QuietHandler(WSGIRequestHandler):
    """The server's side of a connection, without a line for each request."""

    def log_message(self, format: str, *args: object) -> None:
        pass


@pytest.fixture
def evening(own_database: BaseDatabaseWrapper, settings: Settings, monkeypatch: pytest.MonkeyPatch) -> Evening:
    """The evening of the pages' tests, committed, so that a server's threads see it."""
    settings.CUSTODY_REHEARSAL = DRILL
    made = make_evening()
    monkeypatch.setattr(clock, "now", lambda: made.now)
    return made


@pytest.fixture
def server(own_database: BaseDatabaseWrapper) -> Iterator[str]:
    """Where the application answers, whatever is on record."""
    server = ThreadedWSGIServer(("127.0.0.1", 0), QuietHandler)
    server.set_app(get_wsgi_application())
    thread = Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    server.server_close()
    thread.join()


@pytest.fixture
def address(evening: Evening, server: str) -> str:
    """Where the application answers with the evening on record."""
    return server


@pytest.fixture
def departure(own_database: BaseDatabaseWrapper, settings: Settings, monkeypatch: pytest.MonkeyPatch) -> Departure:
    """A place before its drivers leave, committed, with the server's clock set to it, and running."""
    settings.CUSTODY_REHEARSAL = DRILL
    made = make_departure()
    ahead = made.now - int(time.time())
    monkeypatch.setattr(clock, "now", lambda: int(time.time()) + ahead)
    return made


@pytest.fixture
def deeds(own_database: BaseDatabaseWrapper, settings: Settings, monkeypatch: pytest.MonkeyPatch) -> list[Deed]:
    """What was done and signed at a place, none of it delivered; the server's clock stands where they end."""
    settings.CUSTODY_REHEARSAL = DRILL
    world = World(places=1, log=f"{JURISDICTION}/{DRILL}")
    world.until("P01", "open_polls")
    with transaction.atomic():
        put_register(world)
    monkeypatch.setattr(clock, "now", lambda: world.at + 60)
    return world.log


@pytest.fixture
def serving(own_database: BaseDatabaseWrapper) -> Iterator[Serving]:
    """A server that a test may switch off and on."""
    serving = Serving()
    yield serving
    serving.close()
