"""Photos over HTTP: kept under their hash and for good, and refused where they are no picture or tell more than is seen."""

from __future__ import annotations

import io
import stat
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.test import Client
from PIL import Image
from PIL.PngImagePlugin import PngInfo
from pytest_django.fixtures import Settings

from api.views import photos as view
from custody import photos, store
from custody.ledger.canonical import dump_canonical
from custody.services.record import Arrival, Receipt, record_entries
from tests.pictures import bomb, located, name, picture, segment
from tests.web.evening import DRILL, Evening
from tests.world_acts import Deed
from tests.world_register import JURISDICTION

TAKEN = picture()


@pytest.fixture(autouse=True)
def folder(settings: Settings, tmp_path: Path) -> Path:
    settings.CUSTODY_DATA = tmp_path
    return tmp_path / "photos"


def put(
    data: bytes, sha256: str | None = None, *, client: Client | None = None, query: str = "", **headers: str
) -> Any:
    client = client or Client(enforce_csrf_checks=True)
    address = f"/api/v1/photos/{sha256 or name(data)}{query}"
    return client.put(address, data, content_type="image/jpeg", headers=headers)


def token(scope: str) -> str:
    get_user_model().objects.get_or_create(username="clerk")
    out = io.StringIO()
    call_command("token", "clerk", "--scope", scope, "--rehearsal", DRILL, stdout=out, stderr=io.StringIO())
    return f"Bearer {out.getvalue().strip()}"


@pytest.fixture
def recording(evening: Evening) -> str:
    return token("record")


def reported(evening: Evening, *hashes: str) -> Deed:
    """An incident on record that names photos."""
    deed = evening.world.incident("damaged", evening.world.chief("P02"), photos=list(hashes))
    log = store.open_log(JURISDICTION, DRILL)
    (receipt,) = record_entries(log, [Arrival(envelope=dump_canonical(deed.envelope()), received=evening.now)])
    assert isinstance(receipt, Receipt)
    return deed


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_kept_as_it_is_and_once(recording: str, folder: Path, kind: str) -> None:
    data = picture(kind)
    first = put(data, Authorization=recording)
    assert (first.status_code, first.json()) == (201, {"sha256": name(data)})
    path = folder / name(data)[:2] / name(data)
    assert path.read_bytes() == data
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    kept = path.stat()
    assert put(data, Authorization=recording).status_code == 200
    assert (path.stat().st_ino, path.stat().st_mtime_ns) == (kept.st_ino, kept.st_mtime_ns)
    assert [each.name for each in path.parent.iterdir()] == [name(data)]


def test_what_was_changed_on_the_disk_is_neither_believed_nor_written_over(recording: str, folder: Path) -> None:
    put(TAKEN, Authorization=recording)
    path = folder / name(TAKEN)[:2] / name(TAKEN)
    path.write_bytes(picture(colour="red"))
    answer = put(TAKEN, Authorization=recording)
    assert (answer.status_code, answer.json()["code"]) == (409, "photo-changed")
    assert path.read_bytes() == picture(colour="red")


def test_bytes_of_another_hash_are_refused(recording: str, folder: Path) -> None:
    answer = put(TAKEN, name(b"other"), Authorization=recording)
    assert (answer.status_code, answer["Content-Type"]) == (422, "application/problem+json")
    assert answer.json()["code"] == "other-photo"
    assert not folder.exists()


JPEG = picture(size=(300, 200))
FILM = JPEG + b"\0\0\0\x18ftypmp42" + b"\0" * 64


def animated() -> bytes:
    frames = [Image.new("RGB", (8, 8), colour) for colour in ("red", "blue")]
    file = io.BytesIO()
    frames[0].save(file, "WEBP", save_all=True, append_images=frames[1:])
    return file.getvalue()


@pytest.mark.parametrize(
    ("data", "status", "code"),
    [
        (b"", 422, "not-photo"),
        (b"no picture", 422, "not-photo"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", 422, "not-photo"),
        (picture("GIF"), 422, "not-photo"),
        (picture("TIFF"), 422, "not-photo"),
        (JPEG[: len(JPEG) // 2], 422, "not-photo"),
        (picture("PNG", size=(300, 200))[:-20], 422, "not-photo"),
        (picture("WEBP", size=(300, 200))[:-20], 422, "not-photo"),
        (FILM, 422, "not-photo"),
        (picture("PNG") + b"more", 422, "not-photo"),
        (animated(), 422, "not-photo"),
        (bomb(4_001), 413, "photo-too-large"),
        (bomb(60_000), 413, "photo-too-large"),
        (bomb(1_000), 422, "not-photo"),
        (b"\xff\xd8\xff" + b"\0" * photos.MOST_BYTES, 413, "photo-too-large"),
    ],
    ids=lambda value: value[:12].hex() if isinstance(value, bytes) else None,
)
def test_what_is_no_photo_or_too_much_of_one_is_refused(
    recording: str, folder: Path, data: bytes, status: int, code: str
) -> None:
    answer = put(data, Authorization=recording)
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert not folder.exists()


XMP = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"/></x:xmpmeta>'


def noted() -> bytes:
    info = PngInfo()
    info.add_text("Author", "somebody")
    return picture("PNG", pnginfo=info)


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (located("JPEG"), "Exif"),
        (located("PNG"), "Exif"),
        (located("WEBP"), "Exif"),
        # Adobe XMP specification, part 3: how it stands in JPEG and WebP files.
        (segment(JPEG, 0xE1, b"http://ns.adobe.com/xap/1.0/\0" + XMP), "APP1"),
        (picture("WEBP", xmp=XMP), "xmp"),
        (segment(JPEG, 0xED, b"Photoshop 3.0\x008BIM"), "APP13"),
        (segment(JPEG, 0xE2, b"MPF\0" + b"\0" * 8), "APP2"),
        (picture(comment=b"taken by somebody"), "comment"),
        (noted(), "Author"),
    ],
)
def test_a_picture_that_tells_more_than_is_seen_is_refused(
    recording: str, folder: Path, data: bytes, told: str
) -> None:
    answer = put(data, Authorization=recording)
    assert (answer.status_code, answer.json()["code"]) == (422, "photo-tells")
    assert told in answer.json()["detail"]
    assert not folder.exists()


def test_a_picture_of_as_many_pixels_as_are_allowed_is_kept(recording: str) -> None:
    assert put(picture("PNG", size=(4_000, 4_000)), Authorization=recording).status_code == 201
    assert put(picture("PNG", size=(4_001, 4_000)), Authorization=recording).status_code == 413


def test_an_entry_on_record_that_names_it_takes_the_place_of_a_session(evening: Evening) -> None:
    deed = reported(evening, name(TAKEN))
    refused = put(TAKEN)
    assert (refused.status_code, refused.json()["code"]) == (403, "photo-unnamed")
    assert put(TAKEN, query=f"?entry={evening.lone.id}").status_code == 403
    assert put(TAKEN, query="?entry=nonsense").status_code == 403
    assert put(TAKEN, query=f"?entry={deed.id}").status_code == 201
    other = picture(colour="red")
    assert put(other, query=f"?entry={deed.id}").status_code == 403


def test_a_token_must_be_for_recording_and_a_session_needs_its_form_token(evening: Evening) -> None:
    assert put(TAKEN, Authorization=token("read")).status_code == 403
    user = get_user_model().objects.get(username="clerk")
    for checks, status in ((True, 403), (False, 201)):
        client = Client(enforce_csrf_checks=checks)
        client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
        assert put(TAKEN, client=client).status_code == status


@pytest.mark.parametrize("sha256", ["", "abc", "A" * 64, "../" * 22, "%2e%2e%2f" + "a" * 55])
def test_only_a_hash_is_an_address(recording: str, sha256: str) -> None:
    answer = Client().put(f"/api/v1/photos/{sha256}", TAKEN, content_type="image/jpeg")
    assert answer.status_code == 404


def test_only_a_few_are_decoded_at_once(recording: str) -> None:
    assert view.AT_ONCE.acquire(blocking=False)
    assert view.AT_ONCE.acquire(blocking=False)
    try:
        busy = put(TAKEN, Authorization=recording)
    finally:
        view.AT_ONCE.release()
        view.AT_ONCE.release()
    assert (busy.status_code, busy["Retry-After"]) == (429, "3")
    assert put(TAKEN, Authorization=recording).status_code == 201
