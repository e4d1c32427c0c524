"""Scanning in a real browser: by camera from a clip, by a scanner's keys, by hand, from a photo."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import qrcode
from PIL import Image, ImageFilter
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import CHROMIUM, OPTIONS
from tests.browser.departure import PLACE, Departure
from tests.browser.handing import GIVERS, TAKERS, User
from tests.browser.keys import type_keys
from tests.browser.looking import faults, open_page

pytestmark = pytest.mark.one_engine

WIDTH, HEIGHT = 640, 480
TILT = 8
CAMERA = ("--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream")


def symbol(text: str, *, module: int = 6) -> Image.Image:
    code = qrcode.QRCode(box_size=module, border=4)
    code.add_data(text)
    return code.make_image().get_image().convert("L")


def frame(*texts: str) -> Image.Image:
    """What a camera sees: codes held at a slant on grey."""
    picture = Image.new("L", (WIDTH, HEIGHT), 150)
    for place, text in enumerate(texts):
        held = symbol(text, module=6 if len(texts) == 1 else 4).rotate(
            TILT, expand=True, fillcolor=255, resample=Image.Resampling.BICUBIC
        )
        left = (WIDTH * (2 * place + 1)) // (2 * len(texts)) - held.width // 2
        picture.paste(held, (max(0, left), (HEIGHT - held.height) // 2))
    return picture


def write_clip(path: Path, *frames: Image.Image) -> Path:
    """A clip as the browser's camera plays it: YUV4MPEG2, grey."""
    chroma = b"\x80" * (WIDTH * HEIGHT // 2)
    with path.open("wb") as file:
        file.write(b"YUV4MPEG2 W%d H%d F5:1 Ip A1:1 C420jpeg\n" % (WIDTH, HEIGHT))
        for each in frames:
            for _ in range(10):
                file.write(b"FRAME\n" + each.tobytes() + chroma)
    return path


@pytest.fixture
def filmed(browser: Browser, departure: Departure, server: str, tmp_path: Path) -> Iterator[Callable[..., Page]]:
    """A browser whose camera plays a clip, at the list of things to hand over."""
    opened: list[Any] = []

    def film(*frames: Image.Image) -> Page:
        clip = write_clip(tmp_path / f"{len(opened)}.y4m", *frames)
        # A browser of its own: what its camera plays is said when it starts.
        filming = browser.browser_type.launch(
            executable_path=CHROMIUM, args=[*OPTIONS, *CAMERA, f"--use-file-for-fake-video-capture={clip}"]
        )
        opened.append(filming)
        page = open_page(filming, width=360)
        at_things(User(page, departure, server))
        return page

    yield film
    for each in opened:
        each.close()


def at_things(user: User) -> None:
    user.choose_place()
    user.open()
    user.name(GIVERS)
    user.name(TAKERS)
    user.title("What goes?")


@pytest.fixture
def page(browser: Browser, departure: Departure, server: str) -> Iterator[Page]:
    page = open_page(browser, width=320)
    at_things(User(page, departure, server))
    yield page
    page.context.close()


def look(page: Page) -> None:
    assert faults(page) == []


def test_labels_are_scanned_by_camera_one_after_another(filmed: Callable[..., Page], departure: Departure) -> None:
    """Addresses as on the labels, in capitals, and a bare code; a code that stays in the picture counts once."""
    first, second, third = departure.items[:3]
    page = filmed(
        frame(f"HTTPS://CUSTODY.EXAMPLE/Q/{first}"), frame(f"https://custody.example/q/{second.lower()}"), frame(third)
    )
    page.get_by_role("button", name="Camera").click()
    expect(page.locator(".ticked")).to_have_count(3, timeout=20_000)
    expect(page.get_by_role("button", name="Camera")).to_have_attribute("aria-pressed", "true")
    expect(page.get_by_role("button", name="Light")).to_be_hidden()  # this camera has none
    look(page)
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    page.get_by_role("button", name="Camera").click()
    expect(page.locator("video")).to_be_hidden()


def test_of_two_labels_in_one_picture_it_asks_which(filmed: Callable[..., Page], departure: Departure) -> None:
    """Standards 16 of our own list: never a guess."""
    one, other = departure.items[:2]
    page = filmed(frame(f"HTTPS://CUSTODY.EXAMPLE/Q/{one}", f"HTTPS://CUSTODY.EXAMPLE/Q/{other}"))
    page.get_by_role("button", name="Camera").click()
    question = page.get_by_role("heading", name="There are several codes in the picture. Which one is meant?")
    expect(question).to_be_focused(timeout=20_000)
    expect(page.locator(".ticked")).to_have_count(0)
    look(page)
    page.get_by_role("button", name=other, exact=True).click()
    expect(page.locator(".ticked")).to_have_count(1)
    expect(page.locator(".ticked")).to_contain_text(other)


def test_a_camera_that_may_not_be_used_is_said(browser: Browser, departure: Departure, server: str) -> None:
    refusing = browser.browser_type.launch(
        executable_path=CHROMIUM, args=[*OPTIONS, "--use-fake-device-for-media-stream", "--deny-permission-prompts"]
    )
    page = open_page(refusing, width=360)
    at_things(User(page, departure, server))
    page.get_by_role("button", name="Camera").click()
    expect(page.get_by_text("The camera may not be used.")).to_be_visible()
    look(page)
    refusing.close()


def test_a_browser_without_a_camera_says_so(page: Page) -> None:
    page.get_by_role("button", name="Camera").click()
    expect(page.get_by_text("There is no camera here that can be used.")).to_be_visible()


def test_a_scanner_is_heard_wherever_the_focus_is(page: Page, departure: Departure) -> None:
    """Its keys come quickly and end in Enter; with the focus on a button they press nothing."""
    page.get_by_role("button", name="Back").focus()
    type_keys(page, f"HTTPS://CUSTODY.EXAMPLE/Q/{departure.items[0]}")
    expect(page.locator(".ticked")).to_have_count(1)
    expect(page.get_by_role("heading", level=1)).to_have_text("What goes?")
    page.evaluate("document.activeElement.blur()")
    type_keys(page, departure.items[1], end="Tab")
    expect(page.locator(".ticked")).to_have_count(2)


def test_a_code_is_typed_forgivingly_and_a_slip_is_told(page: Page, departure: Departure) -> None:
    code = departure.items[0]
    field = page.get_by_label("Scan a label, or type its code")
    field.fill(f" {code[:4].lower()}-{code[4:].lower()} ")
    page.get_by_role("button", name="Enter").click()
    expect(page.locator(".ticked")).to_have_count(1)
    slip = code[:6] + ("2" if code[6] != "2" else "3") + code[7:]
    field.fill(slip)
    page.keyboard.press("Enter")
    expect(page.locator(".ticked")).to_have_count(1)
    expect(page.locator(".scan-said")).to_contain_text("character")
    look(page)


def test_a_photo_is_read_in_the_page(page: Page, departure: Departure, tmp_path: Path) -> None:
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.url))
    photo = tmp_path / "photo.png"
    symbol(f"HTTPS://CUSTODY.EXAMPLE/Q/{departure.items[0]}").rotate(7, expand=True, fillcolor=255).filter(
        ImageFilter.GaussianBlur(1.5)
    ).save(photo)
    page.locator("input[type=file]").set_input_files(photo)
    expect(page.locator(".ticked")).to_have_count(1, timeout=20_000)
    assert [each for each in sent if each.endswith("/at-work/photo/")] == []


def test_a_photo_that_the_page_cannot_read_is_read_by_the_server(
    page: Page, departure: Departure, tmp_path: Path
) -> None:
    """Where the decoder cannot be loaded; and a picture with nothing on it is said to have nothing."""
    page.route("**/reader*.wasm", lambda route: route.abort())
    photo = tmp_path / "photo.jpg"
    symbol(departure.items[0]).convert("RGB").save(photo, quality=60)
    page.locator("input[type=file]").set_input_files(photo)
    expect(page.locator(".ticked")).to_have_count(1, timeout=20_000)
    Image.new("RGB", (300, 300), "grey").save(photo)
    page.locator("input[type=file]").set_input_files(photo)
    expect(page.locator(".scan-said")).to_contain_text("No code was found in the photo.")


def test_a_whole_handoff_by_camera(browser: Browser, departure: Departure, server: str, tmp_path: Path) -> None:
    """One thing with its seals, all four badges: everything before the lens, PINs alone by hand."""
    world = departure.world
    box = sorted(world.kits[PLACE].containers)[0]
    seals = [number for item, _, number in departure.seals if item == box]
    texts = [f"HTTPS://CUSTODY.EXAMPLE/Q/{box}", *seals]
    badges = [departure.badges[person].text for person in (*GIVERS, *TAKERS)]
    clip = write_clip(tmp_path / "all.y4m", *(frame(text) for text in (*texts, *badges)))
    filming = browser.browser_type.launch(
        executable_path=CHROMIUM, args=[*OPTIONS, *CAMERA, f"--use-file-for-fake-video-capture={clip}"]
    )
    page = open_page(filming, width=360)
    page.set_default_timeout(40_000)
    expect.set_options(timeout=40_000)
    user = User(page, departure, server)
    user.choose_place()
    user.open()
    user.name(GIVERS)
    user.name(TAKERS)
    user.title("What goes?")
    page.get_by_role("button", name="Camera").click()
    expect(page.locator(".ticked")).to_contain_text(box)
    page.locator(".onward button").click()
    user.title("Read the seals")
    for _ in seals:
        page.get_by_role("button", name="Intact, and it holds").click()
    expect(page.get_by_role("heading", name="All seals are read")).to_be_visible()
    page.locator(".onward button").click()
    user.title("Is this right?")
    page.locator(".onward button").click()
    for _ in badges:
        page.locator("#pin").fill(departure.badges[GIVERS[0]].pin)
        page.keyboard.press("Enter")
        expect(page.locator(".signing .last")).to_contain_text("has signed.")
    page.get_by_role("button", name="Record it").click()
    user.title("Saved on this phone")
    expect(page.locator("#outbox-status")).to_have_text("All sent")
    filming.close()
    expect.set_options(timeout=5_000)


def test_a_photo_for_the_server_is_bounded(page: Page) -> None:
    """No picture, one that is none, one with more pixels than anybody's camera has."""
    picture = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(picture, "PNG")
    script = """async (bytes) => {
        const answer = await fetch("/at-work/photo/", { method: "POST", body: new Uint8Array(bytes) });
        return answer.status;
    }"""
    assert page.evaluate(script, list(picture.getvalue())) == 415
    assert page.evaluate(script, list(b"no picture")) == 415
    assert page.evaluate(script, []) == 415
    assert page.evaluate("fetch('/at-work/photo/').then((answer) => answer.status)") == 405


def test_a_label_of_another_office_is_asked_about_before_it_is_taken_for_ours(page: Page, departure: Departure) -> None:
    """Every installation begins its codes at the same one: the code alone does not tell whose thing it is."""
    one, other = departure.items[:2]
    question = "This label is of another address: custody.other.example. Is it a label of this office?"
    heading = page.get_by_role("heading", name=question)
    type_keys(page, f"HTTPS://CUSTODY.OTHER.EXAMPLE/Q/{one}")
    expect(heading).to_be_focused()
    expect(page.locator(".ticked")).to_have_count(0)
    look(page)
    page.get_by_role("button", name="No, leave it out").click()
    expect(heading).to_have_count(0)
    expect(page.locator(".ticked")).to_have_count(0)
    type_keys(page, f"HTTPS://CUSTODY.OTHER.EXAMPLE/Q/{one}")
    page.get_by_role("button", name="Yes, it is ours").click()
    expect(page.locator(".ticked")).to_have_count(1)
    page.reload()
    expect(page.locator(".ticked")).to_have_count(1)
    type_keys(page, f"https://custody.other.example:8000/q/{other}")
    expect(page.locator(".ticked")).to_have_count(2)
