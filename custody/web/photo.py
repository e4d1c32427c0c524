"""Reading the codes in a photo of a label, for browsers that find none themselves. Nothing is kept."""

from __future__ import annotations

import io
import warnings
from http import HTTPStatus
from threading import BoundedSemaphore

import zxingcpp
from django.http import HttpRequest, JsonResponse
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST
from PIL import Image, ImageOps

MOST_BYTES = 12 * 1024 * 1024
MOST_PIXELS = 30_000_000
AT_ONCE = BoundedSemaphore(2)
"""Pictures decoded at once in a process: whoever sends many waits, and nobody else does."""
SIDE = 2_000
"""Pixels of the longer side that are looked at; a label that fills a tenth of it still has them to spare."""
KINDS = zxingcpp.barcode_formats_from_str("QRCode,DataMatrix,Code128,Code39")


@csrf_exempt  # changes nothing, needs no session, tells the sender what the sender sent
@require_POST
def read_photo(request: HttpRequest) -> JsonResponse:
    """The body is the picture; the answer `{"codes": […]}`."""
    if int(request.headers.get("Content-Length") or 0) > MOST_BYTES:
        return JsonResponse({"codes": [], "detail": "too large"}, status=HTTPStatus.REQUEST_ENTITY_TOO_LARGE)
    # Taken in before a turn is asked for: whoever sends slowly keeps nobody waiting.
    data = request.read(MOST_BYTES)
    if not AT_ONCE.acquire(blocking=False):
        busy = {"codes": [], "detail": "busy"}
        return JsonResponse(busy, status=HTTPStatus.SERVICE_UNAVAILABLE, headers={"Retry-After": "2"})
    try:
        return _answer(data)
    finally:
        AT_ONCE.release()


def _answer(data: bytes) -> JsonResponse:
    try:
        picture = _open(data)
    except Exception:  # whatever a file that was broken on purpose brings a decoder to
        return JsonResponse({"codes": [], "detail": "not a picture"}, status=HTTPStatus.UNSUPPORTED_MEDIA_TYPE)
    found = zxingcpp.read_barcodes(picture, formats=KINDS)
    return JsonResponse({"codes": list(dict.fromkeys(each.text for each in found if each.valid and each.text))})


def _open(data: bytes) -> Image.Image:
    """Upright, grey, of bounded size. How many pixels a file will have is asked before any is decoded."""
    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        with Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP", "GIF")) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                raise ValueError("too many pixels")
            picture.draft("L", (SIDE, SIDE))
            grey = picture.convert("L")
    # Made small first: the largest picture is then held once with its colours, and never turned with them.
    grey.thumbnail((SIDE, SIDE))
    return ImageOps.exif_transpose(grey)
