"""Photos on the page of an entry: shown to whoever may read it, under their hash, and only as they were signed for."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from django.test import Client
from PIL import Image
from pytest_django.fixtures import Settings

from custody import photos, store
from custody.ledger.canonical import dump_canonical
from custody.queries.verify import verify_log
from custody.services.record import Arrival, Receipt, record_entries
from tests.pictures import name, picture
from tests.web.evening import DRILL, Evening
from tests.world_acts import Deed
from tests.world_register import JURISDICTION

ONE, OTHER = picture(size=(900, 600)), picture("PNG", colour="red")


@pytest.fixture
def reported(evening: Evening, settings: Settings, tmp_path: Path) -> Deed:
    """An incident that names two photos, one of which was received."""
    settings.CUSTODY_DATA = tmp_path
    deed = evening.world.incident("damaged", evening.world.chief("P02"), photos=[name(ONE), name(OTHER)])
    log = store.open_log(JURISDICTION, DRILL)
    (receipt,) = record_entries(log, [Arrival(envelope=dump_canonical(deed.envelope()), received=evening.now)])
    assert isinstance(receipt, Receipt)
    photos.keep(name(ONE), ONE)
    return deed


def test_the_page_shows_what_came_and_says_what_did_not(client: Client, reported: Deed) -> None:
    page = client.get(f"/entries/{reported.id}/").content.decode()
    assert f'alt="Photo 1 of 2, SHA-256 {name(ONE)[:8]}…"' in page
    assert f'src="/entries/{reported.id}/photos/{name(ONE)}/small"' in page
    assert "Photo 2 of 2" in page
    assert page.count("Not received yet.") == 1
    assert f"/photos/{name(OTHER)}" not in page


def test_the_bytes_are_those_that_were_signed_for_and_the_small_one_is_small(client: Client, reported: Deed) -> None:
    address = f"/entries/{reported.id}/photos/{name(ONE)}"
    whole = client.get(address)
    assert (whole.status_code, whole["Content-Type"], whole.content) == (200, "image/jpeg", ONE)
    assert whole["X-Content-Type-Options"] == "nosniff"
    assert "default-src 'none'" in whole["Content-Security-Policy"]
    small = client.get(f"{address}/small")
    assert small["Content-Type"] == "image/jpeg"
    assert Image.open(io.BytesIO(small.content)).size == (480, 320)
    photos.keep(name(OTHER), OTHER)
    assert client.get(f"/entries/{reported.id}/photos/{name(OTHER)}")["Content-Type"] == "image/png"


def test_changed_bytes_are_not_shown(client: Client, reported: Deed, tmp_path: Path) -> None:
    (tmp_path / "photos" / name(ONE)[:2] / name(ONE)).write_bytes(OTHER)
    for end in ("", "/small"):
        assert client.get(f"/entries/{reported.id}/photos/{name(ONE)}{end}").status_code == 404


def test_a_photo_is_shown_by_an_entry_that_names_it_alone(client: Client, evening: Evening, reported: Deed) -> None:
    assert client.get(f"/entries/{evening.lone.id}/photos/{name(ONE)}").status_code == 404
    assert client.get(f"/entries/nothing/photos/{name(ONE)}").status_code == 404
    assert client.get(f"/entries/{reported.id}/photos/{name(OTHER)}").status_code == 404


def test_in_earnest_it_takes_signing_in(client: Client, reported: Deed, settings: Settings) -> None:
    settings.CUSTODY_REHEARSAL = ""
    answer = client.get(f"/entries/{reported.id}/photos/{name(ONE)}")
    assert (answer.status_code, answer["Location"].startswith("/sign-in/")) == (302, True)


def test_verifying_names_a_photo_that_was_changed_and_not_one_that_did_not_come(reported: Deed, tmp_path: Path) -> None:
    log = store.open_log(JURISDICTION, DRILL)
    assert verify_log(log) == []
    (tmp_path / "photos" / name(ONE)[:2] / name(ONE)).write_bytes(OTHER)
    assert [(each.table, each.key, each.code) for each in verify_log(log)] == [("photo", name(ONE), "photo-changed")]
