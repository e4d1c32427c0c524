"""What a phone needs to work at a place without a network."""

from __future__ import annotations

from http import HTTPStatus

from django.http import Http404
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.log import shown_for
from api.permissions import standing_for
from api.schemas import POCKET_GET
from custody.queries.pocket import find_pocket_place, get_pocket
from custody.queries.rights import may_work_at


class Pocket(APIView):
    """`/sites/{code}/pocket/`: for whoever is assigned there or on the move, for staff, and in an open rehearsal."""

    @POCKET_GET
    def get(self, request: Request, code: str) -> Response:
        shown = shown_for(request)
        if not may_work_at(standing_for(request), code):
            raise PermissionDenied("You are not assigned at this place.")
        place = find_pocket_place(shown, code)
        if place is None:
            raise Http404(code)
        return Response(get_pocket(shown, place), status=HTTPStatus.OK)
