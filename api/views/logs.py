"""The log itself, for general-purpose monitors and for whoever checks a proof: C2SP checkpoint, tlog-proof, tlog-tiles."""

from __future__ import annotations

from http import HTTPStatus

from django.http import HttpResponse
from django.http.response import HttpResponseBase
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.errors import bad_parameter
from api.log import shown_for
from api.parameters import named_log
from api.schemas import BUNDLE_GET, CHECKPOINT_GET, CONSISTENCY_GET, PROOF_GET, TILE_GET
from custody import clock
from custody.queries.proofs import get_tile, prove_consistency, prove_entry
from custody.queries.rights import is_open
from custody.queries.tokens import Access
from custody.services.sign_checkpoint import sign_checkpoint

TEXT = "text/plain; charset=utf-8"
BYTES = "application/octet-stream"
FOR_EVER = "max-age=31536000, immutable"


class Checkpoint(APIView):
    """`…/checkpoint`: the log's size and root, signed."""

    @CHECKPOINT_GET
    def get(self, request: Request, jurisdiction: str, log: str) -> HttpResponseBase:
        note = sign_checkpoint(named_log(request, jurisdiction, log), now=clock.now())
        return HttpResponse(note, content_type=TEXT, headers={"Cache-Control": "no-cache"})


class Proof(APIView):
    """`…/proof/{id}`: that an entry is in the log of the checkpoint that goes with it."""

    @PROOF_GET
    def get(self, request: Request, jurisdiction: str, log: str, entry_id: str) -> HttpResponseBase:
        head = named_log(request, jurisdiction, log)
        note = sign_checkpoint(head, now=clock.now())
        return HttpResponse(prove_entry(head, entry_id, note), content_type=TEXT)


class Consistency(APIView):
    """`…/consistency?old=&new=`: that the log of `new` lines begins with that of `old` (RFC 6962, 2.1.2)."""

    @CONSISTENCY_GET
    def get(self, request: Request, jurisdiction: str, log: str) -> Response:
        head = named_log(request, jurisdiction, log)
        sizes = {}
        for name in ("old", "new"):
            text = request.query_params.get(name, "")
            if not text.isascii() or not text.isdecimal() or len(text) > 18:
                raise bad_parameter(name, "A number of lines.")
            sizes[name] = int(text)
        return Response({**sizes, "hashes": prove_consistency(head, **sizes)}, status=HTTPStatus.OK)


class Tile(APIView):
    """`…/tile/{level}/…`: hashes of the tree."""

    @TILE_GET
    def get(self, request: Request, jurisdiction: str, log: str, path: str) -> HttpResponseBase:
        data = get_tile(named_log(request, jurisdiction, log), f"tile/{path}")
        # What takes a token or a session is for whoever asked: no cache on the way may hand it to the next.
        is_public = not isinstance(request.auth, Access) and is_open(shown_for(request))
        # A partial tile never changes either: of a longer log there is a wider one.
        kept = f"{'public' if is_public else 'private'}, {FOR_EVER}"
        return HttpResponse(data, content_type=BYTES, headers={"Cache-Control": kept})


class Bundle(APIView):
    """`…/tile/entries/…`: lines of the log as they are, for those alone who may read entries."""

    @BUNDLE_GET
    def get(self, request: Request, jurisdiction: str, log: str, path: str) -> HttpResponseBase:
        data = get_tile(named_log(request, jurisdiction, log), f"tile/entries/{path}")
        return HttpResponse(data, content_type=BYTES, headers={"Cache-Control": f"private, {FOR_EVER}"})
