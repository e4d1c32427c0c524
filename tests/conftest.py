"""Fixtures for every test, and the turns of the two engines.

A test that touches the database runs twice, as `…[sqlite]` and `…[postgresql]`, and counts twice; a pure test once.
All tests of one engine come together, so that each engine is prepared once. `--engine` picks one.

What a machine lacks makes tests skip, with the reason, unless `CUSTODY_TEST_REQUIRE` names it (`postgres,reference`,
and `browser` for that and other programs): then they fail.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any, NoReturn

import pytest
from django.conf import settings
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.test.utils import setup_databases, teardown_databases
from playwright.sync_api import Browser, sync_playwright
from pytest_django import DjangoDbBlocker

from custody import registers
from custody.settings import database
from tests.postgres import Lacking, run_server

ENGINES = ("sqlite", "postgresql")
# Playwright runs an event loop in the thread of the tests, where Django would refuse to touch the database.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
CHROMIUM = "/usr/bin/chromium"
OPTIONS = ("--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-sync")


def lacking(what: str, reason: str) -> NoReturn:
    """Skip, or fail where `CUSTODY_TEST_REQUIRE` says that the machine must have it."""
    if what in os.environ.get("CUSTODY_TEST_REQUIRE", "").split(","):
        pytest.fail(f"{what} is required: {reason}", pytrace=False)
    pytest.skip(reason)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--engine", choices=(*ENGINES, "both"), default="both", help="run database tests on this engine")


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    if metafunc.definition.get_closest_marker("django_db") and "engine" not in metafunc.fixturenames:
        metafunc.fixturenames.append("engine")
    if "engine" in metafunc.fixturenames:
        chosen = metafunc.config.getoption("engine")
        engines = ENGINES if chosen == "both" else (chosen,)
        if metafunc.definition.get_closest_marker("one_engine"):
            engines = engines[:1]
        metafunc.parametrize("engine", engines, indirect=True, scope="session")


@pytest.fixture(scope="session")
def engine(request: pytest.FixtureRequest) -> Iterator[str]:
    """The engine whose turn it is; Django's default database is pointed at it."""
    with ExitStack() as stack:
        url = f"sqlite:///{settings.CUSTODY_DATA / 'custody.sqlite3'}"
        if request.param == "postgresql":
            try:
                url = stack.enter_context(run_server())
            except Lacking as error:
                lacking("postgres", str(error))
        settings.DATABASES["default"] = database(url)
        connections.settings = connections.configure_settings(settings.DATABASES)
        connections["default"] = connections.create_connection("default")
        yield request.param


@pytest.fixture(scope="session")
def django_db_setup(engine: str, django_test_environment: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """Prepares the engine's test database by migrations; pytest-django's own fixture knows of one engine only."""
    with django_db_blocker.unblock():
        prepared = setup_databases(verbosity=0, interactive=False)
    yield
    with django_db_blocker.unblock():
        teardown_databases(prepared, verbosity=0, keepdb=True)  # it goes with its folder, or with its server


@pytest.fixture
def own_database(
    engine: str, django_db_setup: None, django_db_blocker: DjangoDbBlocker, tmp_path: Path
) -> Iterator[BaseDatabaseWrapper]:
    """A database of the test's own, where transactions commit: for threads, second connections and live servers.

    It is a copy of the prepared one, and is dropped whole. The usual way, flushing the tables afterwards
    (`transactional_db`), is closed here: the log's triggers refuse it.
    """
    with django_db_blocker.unblock():
        shared = connections["default"]
        name = str(tmp_path / "own.sqlite3") if engine == "sqlite" else "own"
        _copy(shared, name)
        kept = connections.settings["default"]
        connections.settings["default"] = {**kept, "NAME": name}
        connections["default"] = own = connections.create_connection("default")
        try:
            yield own
        finally:
            own.close()
            registers.forget()  # what was read of this database holds for no other
            connections.settings["default"] = kept
            connections["default"] = shared
            if engine == "postgresql":
                _administer(shared, "DROP DATABASE own WITH (FORCE)")


def _copy(shared: BaseDatabaseWrapper, name: str) -> None:
    if shared.vendor == "postgresql":
        shared.close()  # a template must have no visitors
        _administer(shared, f"CREATE DATABASE {name} TEMPLATE {shared.settings_dict['NAME']}")
        return
    shared.ensure_connection()
    target = sqlite3.connect(name)
    shared.connection.backup(target)
    target.close()


def _administer(connection: Any, statement: str) -> None:
    with connection._nodb_cursor() as cursor:
        cursor.execute(statement)


@pytest.fixture(scope="session")
def reference(pytestconfig: pytest.Config) -> Path:
    """The folder of published test vectors: `CUSTODY_REFERENCE`, or `shared/reference` beside the checkout."""
    beside = pytestconfig.rootpath.parent / "shared" / "reference"
    folder = Path(os.environ.get("CUSTODY_REFERENCE") or beside)
    if not folder.is_dir():
        lacking("reference", f"no folder of reference vectors at {folder}")
    return folder


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One browser for the whole run: its driver cannot be started twice. Another of a kind comes from its `browser_type`."""
    if not Path(CHROMIUM).exists():
        lacking("browser", f"there is no {CHROMIUM}")
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, args=OPTIONS)
        yield found
        found.close()
