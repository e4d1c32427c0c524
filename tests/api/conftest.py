"""What tests of the API share: no memory of requests or tokens from the test before."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.core.cache import cache
from pytest_django.fixtures import Settings

from custody import clock
from tests.web.evening import DRILL, Evening, make_evening


@pytest.fixture(autouse=True)
def forgetful() -> Iterator[None]:
    cache.clear()
    yield
    cache.clear()


@pytest.fixture
def evening(db: None, settings: Settings, monkeypatch: pytest.MonkeyPatch) -> Evening:
    """The evening of the pages' tests, in the rehearsal that is shown."""
    settings.CUSTODY_REHEARSAL = DRILL
    made = make_evening()
    monkeypatch.setattr(clock, "now", lambda: made.now)
    return made
