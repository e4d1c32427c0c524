"""The photos of an entry: which of them were received, and their bytes, large and small."""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import dataclass

from PIL import Image

from custody import photos
from custody.queries.entry import EntryOnRecord

SMALL_SIDE = 480
"""Pixels of the longer side of a photo as pages show it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedPhoto:
    """A photo that an entry names, and whether its bytes were received."""

    sha256: str
    received: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """Bytes of a picture, and their media type."""

    data: bytes
    media: str


def list_photos(names: Iterable[str]) -> list[NamedPhoto]:
    """These photos, in their order."""
    return [NamedPhoto(sha256=each, received=photos.is_kept(each)) for each in names]


def get_photo(entry: EntryOnRecord, sha256: str, *, small: bool = False) -> Picture | None:
    """A photo that the entry names, as signed or as amended; `None` where it does not, or the bytes were not received.

    Raises `CustodyError` (`photo-changed`) where what is kept is not what was signed for.
    """
    if sha256 not in entry.photos or (data := photos.read(sha256)) is None:
        return None
    with Image.open(io.BytesIO(data), formats=tuple(photos.MEDIA)) as picture:
        if not small:
            return Picture(data=data, media=photos.MEDIA[picture.format or ""])
        picture.draft("RGB", (SMALL_SIDE, SMALL_SIDE))
        thumbnail = picture.convert("RGB")
    thumbnail.thumbnail((SMALL_SIDE, SMALL_SIDE))
    file = io.BytesIO()
    thumbnail.save(file, "JPEG", quality=80)
    return Picture(data=file.getvalue(), media="image/jpeg")
