"""Items of the register, their history, and who held what."""

from __future__ import annotations

from django.http import Http404
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.log import shown_for
from api.parameters import PAGE, answer_page, log_of, moment_of, now_of, text_of
from api.schemas import HISTORY_GET, HOLDINGS_GET, ITEM_GET, ITEMS_GET
from custody.queries.history import get_history
from custody.queries.holdings import Holds, list_holdings
from custody.queries.items import get_item, item_as_json, list_items
from custody.queries.moments import look_at_states


class Items(APIView):
    """`/items/`: what is on the register; `q` narrows it."""

    @ITEMS_GET
    def get(self, request: Request) -> Response:
        shown = shown_for(request)
        after, asked = text_of(request, "cursor") or "", text_of(request, "q") or ""
        rows = list_items(shown.jurisdiction, asked=asked, after=after, most=PAGE + 1)
        return answer_page(request, rows, lambda item: item.code, item_as_json)


class Item(APIView):
    """`/items/{code}/`: one item as the register has it."""

    @ITEM_GET
    def get(self, request: Request, code: str) -> Response:
        item = get_item(shown_for(request).jurisdiction, code)
        if item is None:
            raise Http404(code)
        return Response(item_as_json(item))


class ItemHistory(APIView):
    """`/items/{code}/history/`: as the command `history` gives it."""

    @HISTORY_GET
    def get(self, request: Request, code: str) -> Response:
        _, log = log_of(request)
        return Response(get_history(log, code, as_of=moment_of(request, "as_of")).as_json())


class Holdings(APIView):
    """`/holdings/`: who held what at a moment."""

    @HOLDINGS_GET
    def get(self, request: Request) -> Response:
        _, log = log_of(request)
        given = moment_of(request, "as_of")
        moment = look_at_states(log, now_of(request, log) if given is None else given)
        rows = list_holdings(moment, Holds(person=text_of(request, "person"), site=text_of(request, "site")))
        return answer_page(request, rows, lambda held: held.item, lambda held: held.as_json())
