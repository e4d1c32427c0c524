"""How the API describes itself (OpenAPI 3.1): parameters and answers of each view, in one place."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers


class FieldProblem(serializers.Serializer[Any]):
    path = serializers.CharField()
    code = serializers.CharField()
    detail = serializers.CharField()


class Problem(serializers.Serializer[Any]):
    """RFC 9457."""

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    code = serializers.CharField()
    detail = serializers.CharField()
    errors = FieldProblem(many=True)  # type: ignore[assignment]


class ReceiptAnswer(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    log = serializers.CharField()
    seq = serializers.IntegerField()
    received = serializers.DateTimeField()
    leaf = serializers.CharField()


class LineAnswer(serializers.Serializer[Any]):
    line = serializers.IntegerField()
    status = serializers.IntegerField()
    receipt = ReceiptAnswer(required=False)
    code = serializers.CharField(required=False)
    detail = serializers.CharField(required=False)


class SignatureGiven(serializers.Serializer[Any]):
    keyid = serializers.CharField()
    sig = serializers.CharField()


class EnvelopeGiven(serializers.Serializer[Any]):
    """DSSE v1.0.2."""

    payloadType = serializers.CharField()  # noqa: N815 - as DSSE spells it
    payload = serializers.CharField()
    signatures = SignatureGiven(many=True)


def problems(*statuses: int) -> dict[Any, Any]:
    """The answers of these statuses."""
    return {(status, "application/problem+json"): OpenApiResponse(Problem) for status in statuses}


ENTRIES_POST = extend_schema(
    summary="Deliver signed entries: one envelope, or a batch as JSON lines",
    request={"application/json": EnvelopeGiven, "application/x-ndjson": EnvelopeGiven},
    responses={
        201: OpenApiResponse(ReceiptAnswer, description="On record now, or further signatures are"),
        200: OpenApiResponse(ReceiptAnswer, description="Was there already"),
        207: OpenApiResponse(LineAnswer(many=True), description="An answer for each line of a batch"),
        **problems(401, 403, 409, 413, 422, 429),
    },
)
POCKET_GET = extend_schema(
    summary="What a phone needs to work at a place without a network",
    responses={200: OpenApiResponse(dict), **problems(401, 403, 404)},
)
