"""Delivering entries: one envelope, or many as JSON lines."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django.core.exceptions import RequestDataTooBig
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import ScopedRateThrottle
from rest_framework.views import APIView

from api.authentication import TokenAuthentication
from api.errors import refusal, status_of
from api.log import shown_for
from api.schemas import ENTRIES_POST
from custody import clock
from custody.errors import CustodyError, Refused
from custody.queries.shown import Shown
from custody.services.open_log import open_log_for_entries
from custody.services.record import Arrival, Receipt, record_entries

BATCH = "application/x-ndjson"
LINES_AT_ONCE = 100
"""Lines in one transaction: whoever else delivers waits for no longer than these take."""
LINES_AT_MOST = 2_000


class Entries(APIView):
    """`/entries/`: signed envelopes come in. No session is asked for: valid signatures of known keys are what counts."""

    authentication_classes = (TokenAuthentication,)
    throttle_classes = (ScopedRateThrottle,)
    throttle_scope = "entries"

    @ENTRIES_POST
    def post(self, request: Request) -> Response:
        try:
            body = request.body
        except RequestDataTooBig:
            raise Refused("too-large", "The request is larger than what is taken at once.") from None
        shown = shown_for(request)
        if request.content_type.partition(";")[0].strip().lower() == BATCH:
            return self._batch(shown, body)
        (answer,) = _record(shown, [body])
        if isinstance(answer, Refused):
            raise answer
        return Response(answer.as_json(), status=_status(answer))

    def _batch(self, shown: Shown, body: bytes) -> Response:
        # Counted before they are taken apart: of millions, each would become something to keep.
        if (count := body.removesuffix(b"\n").count(b"\n") + 1) > LINES_AT_MOST:
            raise Refused("too-large", f"A batch has {LINES_AT_MOST} lines at most; this one has {count}.")
        lines = [(number, line) for number, line in enumerate(body.split(b"\n"), start=1) if line.strip()]
        answers: list[Receipt | Refused] = []
        for start in range(0, len(lines), LINES_AT_ONCE):
            answers += _record(shown, [line for _, line in lines[start : start + LINES_AT_ONCE]])
        listed = [_line(number, answer) for (number, _), answer in zip(lines, answers, strict=True)]
        return Response(listed, status=HTTPStatus.MULTI_STATUS)


def _record(shown: Shown, envelopes: list[bytes]) -> list[Receipt | Refused]:
    if not shown.jurisdiction:
        raise CustodyError("no-jurisdiction", "There is no jurisdiction yet: load a register first.")
    log = shown.log or open_log_for_entries(shown.jurisdiction, shown.rehearsal)
    now = clock.now()
    return record_entries(log, [Arrival(envelope=each, received=now) for each in envelopes])


def _status(receipt: Receipt) -> int:
    return HTTPStatus.CREATED if receipt.new else HTTPStatus.OK


def _line(number: int, answer: Receipt | Refused) -> dict[str, Any]:
    if isinstance(answer, Refused):
        document = refusal(answer)
        return {"line": number, "status": status_of(answer), "code": document["code"], "detail": document["detail"]}
    return {"line": number, "status": int(_status(answer)), "receipt": answer.as_json()}
