"""Errors as RFC 9457 problem documents: what went wrong, in words, with a stable code, and at which field."""

from __future__ import annotations

import logging
from collections.abc import Iterator, Mapping
from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, JsonResponse
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import set_rollback

from custody.errors import CustodyError, Refused

MEDIA_TYPE = "application/problem+json"
STATUS = {
    "id-taken": HTTPStatus.CONFLICT,
    "too-large": HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
    "no-item": HTTPStatus.NOT_FOUND,
    "no-log": HTTPStatus.NOT_FOUND,
    "no-jurisdiction": HTTPStatus.NOT_FOUND,
    "no-entry": HTTPStatus.NOT_FOUND,
    "no-tile": HTTPStatus.NOT_FOUND,
    "beyond-log": HTTPStatus.NOT_FOUND,
    "photo-too-large": HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
    "not-photo": HTTPStatus.UNPROCESSABLE_ENTITY,
    "photo-tells": HTTPStatus.UNPROCESSABLE_ENTITY,
    "other-photo": HTTPStatus.UNPROCESSABLE_ENTITY,
    "photo-unnamed": HTTPStatus.FORBIDDEN,
}
"""Of codes that have a status of their own. Of all others refusals are 422, and what cannot be done is 409."""

logger = logging.getLogger(__name__)


def problem(status: int, code: str, detail: str, errors: list[dict[str, str]] | None = None) -> dict[str, Any]:
    """The document. `errors` name members or parameters at fault: path, code, detail."""
    document = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": int(status),
        "code": code,
        "detail": detail,
    }
    return {**document, "errors": errors or []}


def status_of(error: CustodyError) -> int:
    others = HTTPStatus.UNPROCESSABLE_ENTITY if isinstance(error, Refused) else HTTPStatus.CONFLICT
    return STATUS.get(error.code, others)


def refusal(refused: Refused) -> dict[str, Any]:
    """Why an envelope was refused, at the member it is about."""
    path = refused.data.get("path")
    errors = [{"path": path, "code": refused.code, "detail": refused.detail}] if path else []
    return problem(status_of(refused), refused.code, refused.detail, errors)


def bad_parameter(name: str, detail: str) -> exceptions.ValidationError:
    """A parameter of the address that cannot be read."""
    return exceptions.ValidationError({name: [exceptions.ErrorDetail(detail, code="bad-parameter")]})


def answer_problem(error: Exception, context: Mapping[str, Any]) -> Response:
    """What every view answers when it raises: a problem document, whatever was raised."""
    match error:
        case Refused():
            response = _respond(refusal(error))
        case CustodyError():
            response = _respond(problem(status_of(error), error.code, error.detail))
        case Http404():
            response = _respond(problem(HTTPStatus.NOT_FOUND, "not-found", "There is no such thing here."))
        case PermissionDenied():
            response = _respond(problem(HTTPStatus.FORBIDDEN, "not-allowed", "You may not read or do this."))
        case exceptions.ValidationError():
            detail = "A parameter cannot be read."
            response = _respond(problem(HTTPStatus.BAD_REQUEST, "bad-request", detail, list(_fields(error.detail))))
        case exceptions.APIException():
            codes = error.get_codes()
            code = codes.replace("_", "-") if isinstance(codes, str) else "bad-request"
            response = _respond(problem(error.status_code, code, str(error.detail)))
            for name, attribute in (("Retry-After", "wait"), ("WWW-Authenticate", "auth_header")):
                value = getattr(error, attribute, None)
                if value is not None:
                    response[name] = str(int(value) + 1 if attribute == "wait" else value)
        case _:
            logger.error("error in %s", context["request"].path, exc_info=error)
            detail = "Something went wrong here. Nothing was recorded; the same request may be sent again."
            response = _respond(problem(HTTPStatus.INTERNAL_SERVER_ERROR, "server-error", detail))
    set_rollback()
    return response


def _respond(document: dict[str, Any]) -> Response:
    return Response(document, status=document["status"], content_type=MEDIA_TYPE)


def _fields(detail: Any) -> Iterator[dict[str, str]]:
    for path, said in detail.items() if isinstance(detail, dict) else [("", detail)]:
        for each in said if isinstance(said, list) else [said]:
            yield {"path": path, "code": str(getattr(each, "code", "bad-parameter")), "detail": str(each)}


def not_found(request: HttpRequest, path: str = "") -> JsonResponse:
    """What answers below `/api/v1/` where there is no address."""
    document = problem(HTTPStatus.NOT_FOUND, "not-found", "There is no such address.")
    return JsonResponse(document, status=HTTPStatus.NOT_FOUND, content_type=MEDIA_TYPE)
