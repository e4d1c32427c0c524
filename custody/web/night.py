"""The night office: every polling place by how it stands, who holds what is out, what has come up; and the same for a wall."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any
from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext_lazy
from django.views.decorators.http import require_http_methods

from custody.queries.night import HeldByParty, Night, NightPlace, PlaceState, get_estimate, get_night, numbers_to_ring
from custody.queries.night_curve import get_curves
from custody.queries.outstanding import Holder
from custody.queries.rights import visitor_of
from custody.queries.rules import rule_titles
from custody.queries.shown import Shown
from custody.services.set_estimate import MOST_MINUTES, clear_estimate, set_estimate
from custody.web.access import may_see_people, page
from custody.web.listing import list_latest, name_all
from custody.web.night_curve import draw_curve
from custody.web.people import office
from custody.web.tags import FIELD_TIME, local_time, read_local_time, say_time, say_zone

PER_PAGE, PARTIES, FINDINGS = 100, 60, 5
"""So many places a page, and so many parties and findings; the report has all."""
CELLS, NAMED, WALL_FINDINGS = 600, 80, 3
"""So many places on a wall at most, up to so many with their names; and so many findings."""
EVERY = 20
"""Seconds at least until a page asks again; up to half as many more, so that not all screens ask at once."""

STATES = {
    PlaceState.OVERDUE: (gettext_lazy("Overdue"), gettext_lazy("past the expected arrival or the return deadline")),
    PlaceState.SILENT: (gettext_lazy("Silent"), gettext_lazy("polls closed, and nothing heard since")),
    PlaceState.ON_THE_WAY: (gettext_lazy("On the way"), gettext_lazy("controlled items are with couriers")),
    PlaceState.AT_WORK: (
        pgettext_lazy("state of a place", "At work"),
        gettext_lazy("its items are still there, or with somebody else"),
    ),
    PlaceState.IN: (pgettext_lazy("state of a place", "In"), gettext_lazy("nothing is owed any more")),
}
BASES = {
    "closing": gettext_lazy("estimate, from the closing of the polls"),
    "departure": gettext_lazy("estimate, from departure"),
    "time": gettext_lazy("estimate"),
    "policy": gettext_lazy("policy’s limit for transit"),
    "deadline": gettext_lazy("return deadline"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceShown:
    """A place of the table; `phone` is that of the first couriers, where it is shown. The place has a number of its own."""

    place: NightPlace
    word: str
    basis: str
    phone: str

    @property
    def site(self) -> str:
        return self.place.site

    @property
    def holder(self) -> Holder | None:
        return self.place.couriers[0] if self.place.couriers else None


@dataclass(frozen=True, slots=True, kw_only=True)
class PartyShown:
    party: HeldByParty
    phone: str
    sites: Sequence[str]
    more: int

    @property
    def holder(self) -> Holder | None:
        return self.party.holder


@page
def desk(request: HttpRequest, shown: Shown) -> HttpResponse:
    night = get_night(shown.log, now=shown.now) if shown.log else None
    if night is None or shown.log is None:
        return render(request, "night/nothing.html", {"shown": shown, "section": "night"})
    choices = [("", _("all places")), ("out", _("not in")), *((each.value, STATES[each][0]) for each in PlaceState)]
    state = _one_of(request.GET.get("state", ""), choices)
    chosen = [each for each in night.places if _has_state(each, state)]
    page_of = Paginator(chosen, PER_PAGE).get_page(request.GET.get("page"))
    personal = may_see_people(request, shown)
    parties = night.parties[:PARTIES]
    phones = _phones(shown, [*(each.holder for each in parties), *_couriers(page_of.object_list)], personal=personal)
    found = list_latest(shown, night.election.code, FINDINGS)
    rows = [_shown(each, phones) for each in page_of.object_list]
    held = [_party(each, phones) for each in parties]
    context = {
        **_common(shown, night),
        "names": name_all(shown, [*rows, *held, *found], personal=personal),
        "findings": found,
        "rows": rows,
        "parties": held,
        "more_parties": len(night.parties) - len(held),
        "state": state,
        "choices": choices,
        "number": page_of.number,
        "last": page_of.paginator.num_pages,
        "query": urlencode({"state": state}) + "&" if state else "",
        "chosen": len(chosen),
        "staff": visitor_of(request.user).staff,
        "address": "?" + urlencode({"part": 1, "state": state, "page": page_of.number}),
    }
    return render(request, "night/desk_parts.html" if "part" in request.GET else "night/desk.html", context)


@page
def wall(request: HttpRequest, shown: Shown) -> HttpResponse:
    """For a screen that everybody in the room sees: no names and no numbers of people."""
    night = get_night(shown.log, now=shown.now) if shown.log else None
    if night is None or shown.log is None:
        return render(request, "night/nothing.html", {"shown": shown, "section": "night"})
    cells = night.places[:CELLS]
    named = len(night.places) <= NAMED
    found = list_latest(shown, night.election.code, WALL_FINDINGS)
    titles = rule_titles()
    context = {
        **_common(shown, night),
        "names": name_all(shown, [*(cells if named else ()), *found], personal=False),
        "findings": [(each, titles[each.rule]) for each in found],
        "named": named,
        "grid": [
            {"state": each, "word": STATES[each][0], "places": places}
            for each in PlaceState
            if (places := [cell for cell in cells if cell.state is each])
        ],
        "more": len(night.places) - len(cells),
        "address": "?part=1",
    }
    return render(request, "night/wall_parts.html" if "part" in request.GET else "night/wall.html", context)


def _one_of(asked: str, choices: Iterable[tuple[str, object]]) -> str:
    """What is asked for where it is one of the choices, else everything: a list never says less than its form."""
    return asked if asked in (value for value, _words in choices) else ""


def _has_state(place: NightPlace, state: str) -> bool:
    return place.state is not PlaceState.IN if state == "out" else state in ("", place.state.value)


def _common(shown: Shown, night: Night) -> dict[str, Any]:
    """What both pages show, and what the script needs that refreshes them."""
    counts = [
        {"state": each.value, "word": word, "what": what, "count": night.count(each)}
        for each, (word, what) in STATES.items()
    ]
    local = local_time(shown.now, shown.timezone)
    curves = get_curves(shown.log, night) if shown.log else []
    return {
        "shown": shown,
        "section": "night",
        "now": shown.now,
        "election": night.election,
        "overdue_now": shown.now > night.election.return_deadline,
        "counts": counts,
        "places_all": len(night.places),
        "items_out": night.items_out,
        "items_back": night.items_back,
        "items_all": night.items_out + night.items_back,
        "as_of": f"{date_format(local, 'H:i')} {say_zone(local)}",
        "said": _say(night),
        "curve": draw_curve(curves, now=shown.now, election=night.election, timezone=shown.timezone),
        "every": EVERY,
    }


def _say(night: Night) -> str:
    """How it stands, in a sentence for a screen reader."""
    counted = [(STATES[each][0], night.count(each)) for each in PlaceState]
    return ", ".join(f"{word}: {count}" for word, count in counted if count)


def _couriers(places: Iterable[NightPlace]) -> list[Holder]:
    return [holder for each in places for holder in each.couriers[:1]]


def _phones(shown: Shown, holders: Sequence[Holder | None], *, personal: bool) -> dict[Holder, str]:
    return dict(numbers_to_ring(shown.log, holders)) if personal and shown.log else {}


def _shown(place: NightPlace, phones: dict[Holder, str]) -> PlaceShown:
    return PlaceShown(
        place=place,
        word=str(STATES[place.state][0]),
        basis=str(BASES[place.basis]) if place.basis else "",
        phone=phones.get(place.couriers[0], "") if place.couriers else "",
    )


def _party(party: HeldByParty, phones: dict[Holder, str]) -> PartyShown:
    return PartyShown(
        party=party,
        phone=phones.get(party.holder, "") if party.holder else "",
        sites=party.sites[:3],
        more=max(len(party.sites) - 3, 0),
    )


@office
@require_http_methods(["GET", "HEAD", "POST"])
def estimate(request: HttpRequest, shown: Shown, code: str) -> HttpResponse:
    """When a place is expected: typed by the office, and changed as often as it hears something else."""
    night = get_night(shown.log, now=shown.now) if shown.log else None
    place = next((each for each in night.places if each.site == code), None) if night else None
    if night is None or place is None or shown.log is None:
        raise Http404(code)
    problem = ""
    if request.method == "POST":
        typed = {name: str(value) for name, value in request.POST.items()}
        problem = _take(shown, night, code, typed)
        if not problem:
            return redirect("night")
    else:
        typed = _typed(shown, night, code)
    context = {
        "shown": shown,
        "section": "night",
        "now": shown.now,
        "names": name_all(shown, [place], personal=True),
        "row": _shown(place, {}),
        "typed": typed,
        "problem": problem,
        "most": MOST_MINUTES,
    }
    status = HTTPStatus.UNPROCESSABLE_ENTITY if problem else HTTPStatus.OK
    return render(request, "night/estimate.html", context, status=status)


def _take(shown: Shown, night: Night, code: str, asked: dict[str, str]) -> str:
    """Keep what was typed; what is wrong with it, or nothing."""
    assert shown.log is not None
    way, election = asked.get("way", ""), night.election.code
    if way == "none":
        clear_estimate(shown.log, election, code)
        return ""
    if way == "time":
        instant = read_local_time(asked.get("time", ""), shown.timezone)
        if instant is None:
            return _("Expected at: a day and a time are needed.")
        if abs(instant - night.election.polls_close) > MOST_MINUTES * 60:
            return _("Expected at: this is more than a day from the closing of the polls, %(time)s.") % {
                "time": say_time(night.election.polls_close, shown.timezone)
            }
        set_estimate(shown.log, election, code, way=way, value=instant)
        return ""
    if way not in ("departure", "closing"):
        return _("Say how the arrival is reckoned.")
    minutes = asked.get("minutes", "").strip()
    if not (minutes.isascii() and minutes.isdigit() and len(minutes) <= 6 and 0 < int(minutes) <= MOST_MINUTES):
        return _("Minutes: a whole number from 1 to %(most)d.") % {"most": MOST_MINUTES}
    set_estimate(shown.log, election, code, way=way, value=int(minutes))
    return ""


def _typed(shown: Shown, night: Night, code: str) -> dict[str, str]:
    """The form as it stands."""
    assert shown.log is not None
    typed = get_estimate(shown.log, night.election.code, code)
    if typed is None:
        return {"way": "none"}
    way, value = typed
    if way == "time":
        return {"way": way, "time": local_time(value, shown.timezone).strftime(FIELD_TIME)}
    return {"way": way, "minutes": str(value)}
