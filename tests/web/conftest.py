"""What tests of pages share: the evening on record, with the pages' clock set to it."""

from __future__ import annotations

import pytest
from pytest_django.fixtures import Settings

from custody import clock
from tests.web.evening import DRILL, Evening, make_evening


@pytest.fixture
def evening(db: None, settings: Settings, monkeypatch: pytest.MonkeyPatch) -> Evening:
    """The evening in the rehearsal that the pages show."""
    settings.CUSTODY_REHEARSAL = DRILL
    made = make_evening()
    monkeypatch.setattr(clock, "now", lambda: made.now)
    return made
