"""Parameters of addresses: moments, page cursors, and what of a request is about which log."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from django.http import Http404
from rest_framework.request import Request
from rest_framework.response import Response

from api.errors import bad_parameter
from api.log import shown_for
from custody import clock
from custody.queries.logs import MAIN, REGISTER, find_named_log
from custody.queries.moments import parse_moment, present
from custody.queries.shown import Log, Shown

PAGE = 100
T = TypeVar("T")
BETWEEN = " "
"""Joins the parts of a cursor. It comes before every character of a code, so that the whole is in order where its parts are."""


def log_of(request: Request) -> tuple[Shown, Log]:
    """What is shown, and its log. Raises `Http404` as long as nothing was recorded."""
    shown = shown_for(request)
    if shown.log is None:
        raise Http404("log")
    return shown, shown.log


def named_log(request: Request, jurisdiction: str, name: str) -> Log:
    """A log by its full name: the one that the request is about, or its jurisdiction's register. Raises `Http404` for others.

    A token or a session belongs to one log: that of a rehearsal opens none in earnest.
    """
    shown = shown_for(request)
    own = {shown.rehearsal or MAIN, REGISTER}
    if jurisdiction != shown.jurisdiction or name not in own:
        raise Http404(name)
    return find_named_log(jurisdiction, name)


def moment_of(request: Request, name: str) -> int | None:
    """A parameter such as `2026-11-04T03:14:09Z`, in Unix seconds; `None` where it is not given."""
    text = request.query_params.get(name)
    if text is None:
        return None
    try:
        return parse_moment(text)
    except ValueError:
        raise bad_parameter(name, f"{text!r} is not a time such as 2026-11-04T03:14:09Z.") from None


def now_of(request: Request, log: Log) -> int:
    """The parameter `now`, else the present."""
    given = moment_of(request, "now")
    return present(log, clock.now()) if given is None else given


def text_of(request: Request, name: str) -> str | None:
    """A parameter that narrows a list; a zero character is in no code."""
    text = request.query_params.get(name)
    if text is not None and "\0" in text:
        raise bad_parameter(name, "A zero character is in no code.")
    return text or None


def cursor_of(*parts: str) -> str:
    """The cursor of a row in a list that is sorted by these parts, one after another."""
    return BETWEEN.join(parts)


def answer_page(request: Request, rows: Sequence[T], cursor: Callable[[T], str], dump: Callable[[T], Any]) -> Response:
    """A hundred of the rows that come after the cursor, in an order in which cursors rise; `next` is the next page's address."""
    after = text_of(request, "cursor") or ""
    rest = [row for row in rows if cursor(row) > after] if after else list(rows)
    shown, more = rest[:PAGE], len(rest) > PAGE
    following = None
    if more:
        parameters = request.query_params.copy()
        parameters["cursor"] = cursor(shown[-1])
        following = request.build_absolute_uri(f"{request.path}?{parameters.urlencode()}")
    return Response({"results": [dump(row) for row in shown], "next": following})
