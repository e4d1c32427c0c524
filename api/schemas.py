"""How the API describes itself (OpenAPI 3.1): parameters and answers of each view, in one place."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
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


def _text(media: str) -> Any:
    return OpenApiResponse(OpenApiTypes.BINARY if media.startswith("application") else OpenApiTypes.STR)


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


class PhotoAnswer(serializers.Serializer[Any]):
    sha256 = serializers.CharField()


def _query(name: str, what: str) -> OpenApiParameter:
    return OpenApiParameter(name, str, OpenApiParameter.QUERY, description=what)


def _get(summary: str, *parameters: OpenApiParameter, answer: Any = dict, name: str | None = None) -> Any:
    """A view that reads: its answer, and the problems that any such view may answer; `name` where two would have one."""
    responses = {200: answer, **problems(400, 401, 403, 404)}
    return extend_schema(summary=summary, parameters=list(parameters), responses=responses, operation_id=name)


class PageAnswer(serializers.Serializer[Any]):
    """A hundred rows at most; `next` is the address of those that follow."""

    results = serializers.ListField(child=serializers.DictField())
    next = serializers.URLField(allow_null=True)


CURSOR, NOW = _query("cursor", "From the address in `next`"), _query("now", "As of that time (YYYY-MM-DDTHH:MM:SSZ)")
AS_OF, SITE = _query("as_of", "As of that time (YYYY-MM-DDTHH:MM:SSZ)"), _query("site", "Only of this place")
ELECTION = _query("election", "Only of this election")

ENTRY_GET = _get("One entry: its line, leaf, members as amended, signers and findings", NOW)
ITEMS_GET = _get(
    "Items of the register",
    _query("q", "Part of a code, tag, serial or description"),
    CURSOR,
    answer=PageAnswer,
    name="items_list",
)
ITEM_GET = _get("One item of the register")
HISTORY_GET = _get("An item's custody, containers and seals in order", AS_OF)
HOLDINGS_GET = _get(
    "Who held what at a moment", AS_OF, _query("person", "Only this person"), SITE, CURSOR, answer=PageAnswer
)
OUTSTANDING_GET = _get("What is not back yet", ELECTION, SITE, NOW, CURSOR, answer=PageAnswer)
FINDINGS_GET = _get(
    "Findings",
    ELECTION,
    SITE,
    _query("rule", "Only of this rule"),
    NOW,
    _query("all", "Settled ones too"),
    CURSOR,
    answer=PageAnswer,
)
FINDING_GET = _get("One finding, with the people who have a part in it", NOW, name="finding_retrieve")
SEAL_GET = _get("The life of one seal number", NOW)
CHECKPOINT_GET = _get("The log's signed checkpoint (C2SP tlog-checkpoint)", answer=_text("text/plain"))
PROOF_GET = _get("Proof that an entry is in the log (C2SP tlog-proof)", answer=_text("text/plain"))
CONSISTENCY_GET = _get(
    "Proof that a log continues an earlier one (RFC 6962, 2.1.2)",
    _query("old", "Lines then"),
    _query("new", "Lines now"),
)
TILE_GET = _get("A tile of the tree (C2SP tlog-tiles)", answer=_text("application/octet-stream"))
BUNDLE_GET = _get("A bundle of lines (C2SP tlog-tiles)", answer=_text("application/octet-stream"))
POCKET_GET = extend_schema(
    summary="What a phone needs to work at a place without a network",
    responses={200: OpenApiResponse(dict), **problems(401, 403, 404)},
)
PHOTO_PUT = extend_schema(
    summary="Deliver a photo that an entry names by its SHA-256: its bytes, with nothing in them that tells where it was taken",
    parameters=[_query("entry", "An entry on record that names it; takes the place of a token or a session")],
    request={each: OpenApiTypes.BINARY for each in ("image/jpeg", "image/png", "image/webp")},
    responses={
        201: OpenApiResponse(PhotoAnswer, description="Kept now"),
        200: OpenApiResponse(PhotoAnswer, description="Was there already"),
        **problems(401, 403, 409, 413, 422, 429),
    },
)
