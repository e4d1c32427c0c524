"""Photos: pictures that entries name by their SHA-256. The bytes that were hashed are the original, and are kept as they are.

`photos/ab/abcdef…` in the data folder. A file appears whole and is never written again: who has its name knows its bytes. What
tells where, when or by whom a picture was taken has no place in it, since it could not be taken out later.
"""

from __future__ import annotations

import hashlib
import io
import struct
import warnings
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings
from PIL import Image, JpegImagePlugin, PngImagePlugin

from custody.errors import CustodyError
from custody.private_files import keep_file

MOST_BYTES = 8 * 1024 * 1024
MOST_PIXELS = 16_000_000
MEDIA = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
"""The kinds of pictures that are kept, as Pillow names them, with their media types (RFC 2046, RFC 2083, RFC 9649)."""

_UNREADABLE = (
    OSError,
    ValueError,
    SyntaxError,
    EOFError,
    LookupError,
    TypeError,
    struct.error,
)
_BARE_SEGMENTS = {"APP0": b"JFIF\0", "APP2": b"ICC_PROFILE\0", "APP14": b"Adobe"}
"""What a JPEG may hold beside the picture: its density, its colours (ITU-T T.871; ICC.1 annex B.4)."""


def check_picture(data: bytes) -> str:
    """The kind of a whole picture that tells nothing but what is to be seen. Raises `CustodyError`.

    Codes: `photo-too-large`, `not-photo`, `photo-tells`. How many pixels it has is asked before any is decoded.
    """
    if len(data) > MOST_BYTES:
        raise too_large()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what is odd about a file is looked at below
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=tuple(MEDIA)) as picture:
                if picture.width * picture.height > MOST_PIXELS:
                    raise too_large()
                picture.load()
                kind = picture.format or ""
                told = sorted(set(_told(picture)))
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise too_large() from None
    except _UNREADABLE as error:
        raise CustodyError("not-photo", f"Not a whole JPEG, PNG or WebP picture: {error}") from None
    if kind not in MEDIA or getattr(picture, "n_frames", 1) != 1 or not _ends(data, kind):
        raise CustodyError("not-photo", "Not one picture alone: there are several, or something else comes after it.")
    if told:
        detail = f"Take off first what was written into the picture beside it: {', '.join(told)}."
        raise CustodyError("photo-tells", detail, told=told)
    return kind


def too_large() -> CustodyError:
    detail = f"A photo has {MOST_BYTES // 1024 // 1024} MiB and {MOST_PIXELS // 1_000_000} million pixels at most."
    return CustodyError("photo-too-large", detail)


def _told(picture: Image.Image) -> Iterator[str]:
    """What stands in a picture's file beside the picture, by name: it may tell a place, a time, a person, a phone."""
    if picture.getexif():
        yield "Exif"
    yield from (name for name in ("exif", "xmp", "photoshop", "comment") if picture.info.get(name))
    if isinstance(picture, JpegImagePlugin.JpegImageFile):
        yield from (name for name, data in picture.applist if not data.startswith(_BARE_SEGMENTS.get(name, b"\xff")))
    if isinstance(picture, PngImagePlugin.PngImageFile):
        yield from picture.text
        yield from (chunk[0].decode("ascii", "replace") for chunk in picture.private_chunks)


def _ends(data: bytes, kind: str) -> bool:
    """Whether the file ends with the picture: some phones append a film to it."""
    match kind:
        case "JPEG":
            return data.endswith(b"\xff\xd9")
        case "PNG":
            return data.endswith(b"IEND\xae\x42\x60\x82")
        case _:
            return len(data) == int.from_bytes(data[4:8], "little") + 8


def keep(sha256: str, data: bytes) -> bool:
    """Keep checked bytes under their hash; whether they are new. Raises `CustodyError` where other bytes stand there."""
    if keep_file(_path(sha256), data):
        return True
    read(sha256)
    return False


def read(sha256: str) -> bytes | None:
    """The bytes of that hash, or `None` where they were not received. Raises `CustodyError` (`photo-changed`) for others."""
    try:
        data = _path(sha256).read_bytes()
    except FileNotFoundError:
        return None
    if hashlib.sha256(data).hexdigest() != sha256:
        raise CustodyError("photo-changed", "The bytes that are kept are not those that were signed for.")
    return data


def is_kept(sha256: str) -> bool:
    return _path(sha256).exists()


def _path(sha256: str) -> Path:
    return Path(settings.CUSTODY_DATA) / "photos" / sha256[:2] / sha256
