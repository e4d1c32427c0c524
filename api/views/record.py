"""What is on record: one entry, what is not back, findings, a seal's life."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.errors import bad_parameter
from api.parameters import answer_page, cursor_of, log_of, now_of, text_of
from api.permissions import standing_for
from api.schemas import ENTRY_GET, FINDING_GET, FINDINGS_GET, OUTSTANDING_GET, SEAL_GET
from custody.queries.entry import get_entry, get_line
from custody.queries.finding import get_finding
from custody.queries.findings import EVERYTHING, RULE_CODES, Wanted, choose_findings, list_findings
from custody.queries.moments import look_at
from custody.queries.outstanding import OutstandingItem, list_outstanding
from custody.queries.rights import may_see_people
from custody.queries.seals import get_seal_history


class Entry(APIView):
    """`/entries/{id}/`: the log line, its leaf, what it says as amended, who signed, what was found."""

    @ENTRY_GET
    def get(self, request: Request, entry_id: str) -> Response:
        _, log = log_of(request)
        entry = get_entry(log, entry_id)
        if entry is None:
            raise Http404(entry_id)
        moment = look_at(log, now_of(request, log))
        found = choose_findings(moment, Wanted(entry=entry_id, statuses=EVERYTHING))
        return Response(
            {
                "line": get_line(log, entry.numbers[0]),
                "leaf": entry.leaf,
                "members": entry.members,
                "signers": [
                    {"person": each.person, "keyid": each.keyid, "counts": each.counts == "counts"}
                    for each in entry.signatures
                ],
                "findings": [each.as_json() for each in found],
            }
        )


class Outstanding(APIView):
    """`/outstanding/`: as the command; phone numbers for those alone who may see them."""

    @OUTSTANDING_GET
    def get(self, request: Request) -> Response:
        shown, log = log_of(request)
        personal = may_see_people(standing_for(request), shown)
        rows = list_outstanding(
            log, now=now_of(request, log), election=text_of(request, "election"), site=text_of(request, "site")
        )

        def dump(row: OutstandingItem) -> dict[str, Any]:
            return row.as_json() if personal else {**row.as_json(), "phone": None}

        return answer_page(request, rows, _place, dump)


def _place(row: OutstandingItem) -> str:
    return cursor_of(row.election, row.site, row.kind, row.item)


class Findings(APIView):
    """`/findings/`: as the command; `all` also gives those that are settled."""

    @FINDINGS_GET
    def get(self, request: Request) -> Response:
        _, log = log_of(request)
        rule = text_of(request, "rule")
        if rule is not None and rule not in RULE_CODES:
            raise bad_parameter("rule", f"There is no rule {rule}.")
        rows = list_findings(
            log,
            now=now_of(request, log),
            election=text_of(request, "election"),
            site=text_of(request, "site"),
            rule=rule,
            everything="all" in request.query_params,
        )
        numbered = list(enumerate(rows))
        return answer_page(request, numbered, lambda row: f"{row[0]:08}", lambda row: row[1].as_json())


class Finding(APIView):
    """`/findings/{key}/`: one of them, and who has a part in it, so that others settle it."""

    @FINDING_GET
    def get(self, request: Request, key: str) -> Response:
        _, log = log_of(request)
        finding = get_finding(log, key, now=now_of(request, log))
        if finding is None:
            raise Http404(key)
        return Response(finding.as_json())


class Seal(APIView):
    """`/seals/{number}/`: as the command `seal_history`."""

    @SEAL_GET
    def get(self, request: Request, number: str) -> Response:
        _, log = log_of(request)
        return Response(get_seal_history(log, number, now=now_of(request, log)).as_json())
