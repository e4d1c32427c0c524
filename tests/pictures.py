"""Pictures for tests of photos: whole ones, and ones that nobody should take."""

from __future__ import annotations

import hashlib
import io
import struct
import zlib
from typing import Any

from PIL import Image

# Exif 2.32 (JEITA CP-3451E), the pointer to the GPS IFD and two of its tags.
GPS_IFD, LATITUDE_REF, LATITUDE = 0x8825, 1, 2


def picture(kind: str = "JPEG", *, size: tuple[int, int] = (64, 48), colour: str = "teal", **more: Any) -> bytes:
    file = io.BytesIO()
    Image.new("RGB", size, colour).save(file, kind, **more)
    return file.getvalue()


def located(kind: str = "JPEG") -> bytes:
    """One that says where it was taken: 39 degrees 57 minutes north."""
    exif = Image.Exif()
    exif.get_ifd(GPS_IFD).update({LATITUDE_REF: "N", LATITUDE: (39.0, 57.0, 0.0)})
    return picture(kind, exif=exif.tobytes())


def name(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def chunk(kind: bytes, data: bytes) -> bytes:
    """W3C PNG, 5.3."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def bomb(side: int) -> bytes:
    """A PNG of few bytes that says it has side × side pixels (W3C PNG, 11.2)."""
    head = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


def segment(data: bytes, marker: int, content: bytes) -> bytes:
    """A JPEG with one more segment behind its first two bytes (ITU-T T.81, B.1.1.4)."""
    return data[:2] + struct.pack(">BBH", 0xFF, marker, len(content) + 2) + content + data[2:]
