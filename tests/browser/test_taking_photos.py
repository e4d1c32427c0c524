"""Photos that go with an entry: bare of what a camera writes, signed for by their hash, sent beside the entry."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, Route, expect
from pytest_django.fixtures import Settings

from custody import store
from custody.ledger.base64 import parse_base64
from custody.ledger.canonical import parse_canonical
from tests.browser.departure import Departure
from tests.browser.handing import User, looked_at
from tests.browser.looking import open_page
from tests.browser.test_phone_facts import ask
from tests.pictures import GPS_IFD, LATITUDE, LATITUDE_REF, name, picture, segment
from tests.web.evening import DRILL
from tests.world_register import JURISDICTION

pytestmark = pytest.mark.one_engine

PHOTOS = "**/api/v1/photos/**"


def from_a_camera() -> bytes:
    """3,000 by 2,400 pixels, left half red; turned a quarter and located by its Exif, as phones write it."""
    exif = Image.Exif()
    exif[0x0112] = 6  # Orientation: the 0th row is the right-hand side (Exif 2.32, table 4)
    exif.get_ifd(GPS_IFD).update({LATITUDE_REF: "N", LATITUDE: (39.0, 57.0, 0.0)})
    whole = Image.new("RGB", (3_000, 2_400), "blue")
    whole.paste("red", (0, 0, 1_500, 2_400))
    file = io.BytesIO()
    whole.save(file, "JPEG", exif=exif.tobytes())
    return file.getvalue()


class Reporter(User):
    """Somebody who reports that something is damaged."""

    def until_photos(self) -> None:
        self.open("incident", "What happened?")
        self.page.get_by_role("radio", name="Damaged").check()
        self.go_on()
        self.title("What is it about?")
        self.go_on()
        self.title("In your own words")
        self.go_on()
        self.title("Photos, if they help")

    def take(self, data: bytes, *, said: str = "Saved on this phone.") -> None:
        file = {"name": "photo.jpg", "mimeType": "image/jpeg", "buffer": data}
        self.page.get_by_label("Take a photo").set_input_files(file)  # type: ignore[arg-type]
        expect(self.page.locator("#act [role=status]").filter(has_text=said)).to_be_visible()
        self.look("taken")

    def sign_it(self) -> dict[str, Any]:
        before = head().size
        self.go_on()
        self.title("Who reports it?")
        self.name(["CHIEF-P01"])
        self.title("Is this right?")
        self.go_on()
        self.sign(["CHIEF-P01"])
        self.finish()
        expect(self.page.locator("#outbox-status")).not_to_contain_text("Saved on this phone")
        (line,) = store.read_lines(head(), before)
        members: dict[str, Any] = parse_canonical(parse_base64(line.content()["envelope"]["payload"]))
        return members


def head() -> store.LogHead:
    return store.open_log(JURISDICTION, DRILL)


@pytest.fixture
def folder(settings: Settings, tmp_path: Path) -> Path:
    settings.CUSTODY_DATA = tmp_path
    return tmp_path / "photos"


@pytest.fixture(params=[320, 1280])
def reporter(
    browser: Browser, departure: Departure, server: str, folder: Path, request: pytest.FixtureRequest
) -> Iterator[Reporter]:
    made = Reporter(open_page(browser, width=request.param), departure, server)
    made.choose_place()
    with looked_at(made, width=request.param, states=1):
        yield made


def kept(page: Page) -> int:
    """How many photos are on the phone."""
    module = "import('/static/custody/js/phone/database.js')"
    return int(page.evaluate(f"{module}.then((it) => it.read('photos', (store) => store.count()))"))


def test_a_photo_goes_with_an_entry_and_tells_nothing_but_what_is_seen(reporter: Reporter, folder: Path) -> None:
    reporter.until_photos()
    reporter.take(from_a_camera())
    expect(reporter.page.get_by_role("img", name="Photo 1 of 1")).to_be_visible()
    members = reporter.sign_it()
    expect(reporter.page.locator("#outbox-status")).to_have_text("All sent")
    (sha256,) = members["photos"]
    data = (folder / sha256[:2] / sha256).read_bytes()
    assert name(data) == sha256
    with Image.open(io.BytesIO(data)) as taken:
        # Upright, no side above 2,000 pixels; what was the left half is on top when the picture is turned to the right.
        assert taken.size == (1_600, 2_000)
        red, blue = taken.getpixel((800, 500)), taken.getpixel((800, 1_500))
        assert dict(taken.getexif()) == {}
        assert {marker for marker, _ in taken.applist} <= {"APP0", "APP2"}  # type: ignore[attr-defined]
    assert isinstance(red, tuple) and isinstance(blue, tuple)
    assert (red[0] > 240, red[2] < 15, blue[0] < 15, blue[2] > 240) == (True,) * 4
    assert kept(reporter.page) == 0
    reporter.page.goto(f"{reporter.address}/entries/{members['id']}/")
    shown = reporter.page.get_by_role("img", name=f"Photo 1 of 1, SHA-256 {sha256[:8]}")
    expect(shown).to_be_visible()
    reporter.page.wait_for_function("[...document.images].every((each) => each.complete)")
    assert shown.evaluate("each => [each.naturalWidth, each.naturalHeight]") == [384, 480]
    reporter.look("entry")


def test_several_are_taken_and_one_is_taken_off_again(reporter: Reporter) -> None:
    reporter.until_photos()
    colours = ["red", "green", "blue", "gold", "teal", "black"]
    for done, colour in enumerate(colours[:2], start=1):
        reporter.take(picture(colour=colour))
        expect(reporter.page.get_by_role("img")).to_have_count(done)
    reporter.take(b"no picture", said="This is no picture that this browser can read.")
    expect(reporter.page.get_by_role("img")).to_have_count(2)
    reporter.page.get_by_role("button", name=re.compile("Take off ?: Photo 1 of 2")).click()
    expect(reporter.page.get_by_role("img", name="Photo 1 of 1")).to_be_visible()
    assert kept(reporter.page) == 1
    reporter.page.reload()
    reporter.title("Photos, if they help")
    expect(reporter.page.get_by_role("img", name="Photo 1 of 1")).to_be_visible()
    for done, colour in enumerate(colours[2:], start=2):
        reporter.take(picture(colour=colour))
        expect(reporter.page.get_by_role("img")).to_have_count(done)
    reporter.take(picture(colour="pink"), said="as many as go with one entry")
    expect(reporter.page.get_by_label("Take a photo")).to_be_disabled()
    assert len(reporter.sign_it()["photos"]) == 6


def test_an_entry_goes_first_and_its_photo_when_the_network_lets_it(reporter: Reporter, folder: Path) -> None:
    page, asked = reporter.page, []
    reporter.until_photos()
    reporter.take(picture(size=(400, 300)))

    def fail(route: Route) -> None:
        asked.append(route.request.url)
        if len(asked) == 1:
            route.abort()
        else:
            route.fulfill(status=502, body="<h1>Bad gateway</h1>")

    page.route(PHOTOS, fail)
    members = reporter.sign_it()
    (sha256,) = members["photos"]
    expect(page.locator("#outbox-status")).to_have_text("Recorded · 1 photo to send")
    page.goto(f"{reporter.address}/entries/{members['id']}/")
    expect(page.get_by_text("Not received yet.")).to_be_visible()
    page.goto(f"{reporter.address}/at-work/outbox/")
    expect(page.get_by_role("heading", name="Photos that wait")).to_be_visible()
    reporter.look("waiting")
    assert not folder.exists()
    page.unroute(PHOTOS)
    page.get_by_role("button", name="Send now").click()
    expect(page.locator("#outbox-status")).to_have_text("All sent")
    assert (folder / sha256[:2] / sha256).exists()
    assert kept(page) == 0


def test_a_photo_that_is_refused_holds_nothing_back(reporter: Reporter, folder: Path) -> None:
    page = reporter.page
    reporter.until_photos()
    reporter.take(picture(colour="red"))
    expect(page.get_by_role("img")).to_have_count(1)
    reporter.take(picture(colour="blue"))
    expect(page.get_by_role("img")).to_have_count(2)
    document = {"code": "photo-tells", "detail": "Take off first what was written into it.", "status": 422}
    refused = name(b"")

    def refuse_first(route: Route) -> None:
        nonlocal refused
        refused = route.request.url.rpartition("/")[2][:64]
        route.fulfill(status=422, content_type="application/problem+json", body=json.dumps(document))

    page.route(PHOTOS, refuse_first, times=1)
    members = reporter.sign_it()
    expect(page.locator("#outbox-status")).to_have_text("All sent · 1 not taken")
    assert refused in members["photos"]
    assert {each.name for each in folder.glob("*/*")} == set(members["photos"]) - {refused}
    page.goto(f"{reporter.address}/at-work/outbox/")
    expect(page.get_by_text("Take off first what was written into it.")).to_be_visible()
    reporter.look("refused")
    page.get_by_role("button", name="Try again").click()
    expect(page.locator("#outbox-status")).to_have_text("All sent")
    assert {each.name for each in folder.glob("*/*")} == set(members["photos"])


def test_what_was_taken_for_an_act_that_is_not_in_hand_any_more_is_let_go_of(reporter: Reporter) -> None:
    reporter.until_photos()
    reporter.take(picture())
    page = reporter.page
    page.evaluate("import('/static/custody/js/phone/drafts.js').then((it) => it.clearAll())")
    reporter.open("incident", "What happened?")
    assert kept(page) == 0


JPEG = picture(size=(40, 30))


@pytest.mark.parametrize(
    "data",
    [
        JPEG,
        segment(JPEG, 0xE1, b"Exif\0\0MM"),
        segment(segment(JPEG, 0xED, b"Photoshop 3.0"), 0xE2, b"MPF\0"),
        segment(JPEG, 0xFE, b"taken by somebody"),
        segment(JPEG, 0xE0, b"JFXX\0\x10"),
    ],
)
def test_a_jpeg_is_laid_bare(browser: Browser, server: str, data: bytes) -> None:
    page = open_page(browser, width=360)
    page.goto(f"{server}/at-work/missing/")
    done = bytes(ask(page, "record/jpeg", "(bytes) => Array.from(it.bare(new Uint8Array(bytes)))", list(data)))
    fault = ask(
        page,
        "record/jpeg",
        "(bytes) => { try { it.bare(new Uint8Array(bytes)); } catch (e) { return e.message; } }",
        [1, 2],
    )
    page.context.close()
    assert done == JPEG
    assert fault == "no JPEG"
