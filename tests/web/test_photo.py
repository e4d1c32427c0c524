"""Reading a photo on the server: codes of several kinds, pictures that are too much, and only a few at once."""

from __future__ import annotations

import io
import struct
import zlib
from typing import Any

import numpy
import pytest
import qrcode
import zxingcpp
from django.test import Client, RequestFactory
from PIL import Image, ImageOps

from custody.web import photo
from tests.pictures import chunk

ADDRESS = "HTTPS://CUSTODY.EXAMPLE/Q/BC000016"


def qr(text: str) -> Image.Image:
    code = qrcode.QRCode(box_size=6, border=4)
    code.add_data(text)
    return code.make_image().get_image().convert("RGB")


def sent(picture: Image.Image | bytes, kind: str = "JPEG") -> Any:
    body = picture
    if isinstance(picture, Image.Image):
        file = io.BytesIO()
        picture.save(file, kind)
        body = file.getvalue()
    return Client(enforce_csrf_checks=True).post("/at-work/photo/", body, content_type="application/octet-stream")


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_label_is_read_from_every_usual_kind_of_picture(kind: str) -> None:
    answer = sent(qr(ADDRESS), kind)
    assert (answer.status_code, answer.json()) == (200, {"codes": [ADDRESS]})


def test_a_photo_that_lies_on_its_side_is_turned() -> None:
    """Exif orientation, as phones write it."""
    file = io.BytesIO()
    exif = Image.Exif()
    exif[0x0112] = 6
    qr(ADDRESS).rotate(90).save(file, "JPEG", exif=exif)
    assert sent(file.getvalue()).json() == {"codes": [ADDRESS]}


def test_the_bar_code_of_a_seal_is_read() -> None:
    """Code 128 (ISO/IEC 15417), which makers print on seals: common practice, no published source."""
    made = zxingcpp.write_barcode_to_image(zxingcpp.create_barcode("S0010501", zxingcpp.BarcodeFormat.Code128), scale=3)
    bars = numpy.asarray(made)
    picture = Image.new("L", (bars.shape[1] + 80, bars.shape[0] + 80), 255)
    picture.paste(Image.fromarray(bars), (40, 40))
    assert sent(picture.convert("RGB")).json() == {"codes": ["S0010501"]}


def test_two_labels_in_one_picture_are_both_told() -> None:
    one, other = qr(ADDRESS), qr("HTTPS://CUSTODY.EXAMPLE/Q/BC000024")
    picture = Image.new("RGB", (one.width * 2 + 40, one.height), "white")
    picture.paste(one, (0, 0))
    picture.paste(other, (one.width + 40, 0))
    assert len(sent(picture).json()["codes"]) == 2


def png(
    side: int,
    *,
    colour: int = 0,
    more: tuple[bytes, bytes] = (b"tEXt", b"a\0b"),
    rows: int = 10_000,
    after: bytes = b"",
) -> bytes:
    """A PNG of few bytes that says it has side × side pixels of a colour type (W3C PNG, 11.2), all black."""
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", side, side, 8, colour, 0, 0, 0)) + chunk(*more)
    data = chunk(b"IDAT", zlib.compress(b"\0" * min(side * (side + 1), rows)))
    return b"\x89PNG\r\n\x1a\n" + head + data + after + chunk(b"IEND", b"")


BROKEN = {
    "empty": b"",
    "text": b"no picture",
    "bomb": png(6_000),
    "a larger one": png(60_000),
    "vectors": b"<svg xmlns='http://www.w3.org/2000/svg'/>",
    "a chunk without a name": png(50, rows=100, after=b"\0\0\0\x04\x08\x01\x02\x07abcd1234"),
    "no colours to choose from": png(50, colour=3, more=(b"tRNS", b"\0")),
    "facts of the photo broken": png(50, more=(b"eXIf", b"MM\0\x09\0\0\0\x08")),
}


@pytest.mark.parametrize("body", BROKEN.values(), ids=BROKEN)
def test_what_is_no_picture_or_too_much_of_one_is_refused(body: bytes) -> None:
    answer = sent(body)
    assert (answer.status_code, answer.json()["codes"]) == (415, [])


def test_a_small_picture_of_that_make_is_one() -> None:
    """So that the ones above are refused for what is broken about them."""
    assert sent(png(50)).json() == {"codes": []}


def test_whoever_sends_slowly_takes_no_turn(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two who never finish would else keep everybody else from having a photo read."""
    free: list[bool] = []

    class Slow(io.BytesIO):
        def read(self, size: int | None = -1) -> bytes:
            taken = [photo.AT_ONCE.acquire(blocking=False) for _ in range(2)]
            free.append(all(taken))
            for _ in filter(None, taken):
                photo.AT_ONCE.release()
            return super().read(size)

    body = png(50)
    request = RequestFactory().post("/at-work/photo/", body, content_type="application/octet-stream")
    monkeypatch.setattr(request, "_stream", Slow(body))
    assert photo.read_photo(request).status_code == 200
    assert free == [True]


def test_the_colours_of_a_large_picture_are_held_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is turned when it is grey and small: of 30 million pixels with colours each copy more would be 120 MB."""
    turned: list[tuple[str, tuple[int, int]]] = []
    turn = ImageOps.exif_transpose

    def note(picture: Image.Image) -> Image.Image:
        turned.append((picture.mode, picture.size))
        return turn(picture)

    monkeypatch.setattr(ImageOps, "exif_transpose", note)
    assert sent(Image.new("RGBA", (4_000, 2_400)), "PNG").status_code == 200
    assert turned == [("L", (2_000, 1_200))]


def test_no_more_than_a_few_are_read_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    assert photo.AT_ONCE.acquire(blocking=False)
    assert photo.AT_ONCE.acquire(blocking=False)
    try:
        busy = sent(qr(ADDRESS))
    finally:
        photo.AT_ONCE.release()
        photo.AT_ONCE.release()
    assert (busy.status_code, busy["Retry-After"]) == (503, "2")
    assert sent(qr(ADDRESS)).status_code == 200
