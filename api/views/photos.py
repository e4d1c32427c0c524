"""Photos that entries name come in, each under its SHA-256."""

from __future__ import annotations

from http import HTTPStatus
from threading import BoundedSemaphore

from rest_framework.exceptions import Throttled
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import ScopedRateThrottle
from rest_framework.views import APIView

from api.log import shown_for
from api.parameters import text_of
from api.schemas import PHOTO_PUT
from custody.errors import CustodyError
from custody.queries.rights import visitor_of
from custody.queries.tokens import Access
from custody.services.keep_photo import MOST_BYTES, is_named, keep_photo, too_large

AT_ONCE = BoundedSemaphore(2)
"""Pictures decoded at once in a process: whoever sends many waits, and nobody else does."""


class Photo(APIView):
    """`/photos/{sha256}`: the bytes, as they are. Once they are kept they stay; the same again is no error.

    They come with a token for recording, from somebody signed in, or with the id of an entry on record that names them: a phone
    whose session has ended delivers the entry, which needs none, and then its photos.
    """

    throttle_classes = (ScopedRateThrottle,)
    throttle_scope = "photos"

    @PHOTO_PUT
    def put(self, request: Request, sha256: str) -> Response:
        self._check_sender(request, sha256)
        if int(request.headers.get("Content-Length") or 0) > MOST_BYTES:
            raise too_large()
        if not AT_ONCE.acquire(blocking=False):
            raise Throttled(wait=2)
        try:
            new = keep_photo(sha256, request.read(MOST_BYTES + 1))
        finally:
            AT_ONCE.release()
        return Response({"sha256": sha256}, status=HTTPStatus.CREATED if new else HTTPStatus.OK)

    def _check_sender(self, request: Request, sha256: str) -> None:
        if isinstance(request.auth, Access) or visitor_of(request.user).known:
            return
        entry = text_of(request, "entry")
        if entry is None or not is_named(shown_for(request).log, entry, sha256):
            detail = "Sign in, or send first the entry that names this photo, and give its id as the parameter entry."
            raise CustodyError("photo-unnamed", detail)
