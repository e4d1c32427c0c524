"""Items: finding one by what is on its label, and one item's custody from the shelf until now."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain, pairwise
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from custody.errors import CustodyError
from custody.queries.container import is_container
from custody.queries.entry import get_headlines
from custody.queries.findings import EVERYTHING, Wanted
from custody.queries.history import Event, History, Standing, get_history
from custody.queries.names import ItemName, Names
from custody.queries.outstanding import Holder
from custody.queries.rights import is_own_item
from custody.queries.shown import Shown
from custody.web import words
from custody.web.access import entries_seen, findings_seen, may_see_people, own_only, page
from custody.web.band import draw_band
from custody.web.facts import heading
from custody.web.listing import Named, find_findings, name_all


@dataclass(frozen=True, slots=True, kw_only=True)
class EventShown:
    """One row of the table: an event, what it was, and which of its columns say nothing new."""

    event: Event
    what: str
    same_holder: bool
    same_container: bool
    same_seals: bool


@page
def show_item(request: HttpRequest, shown: Shown, code: str) -> HttpResponse:
    if shown.log is None:
        raise Http404(code)
    try:
        history = get_history(shown.log, code, as_of=shown.now)
    except CustodyError as error:
        raise Http404(error.detail) from error
    own_only(request, own=lambda standing: is_own_item(standing, shown, history.item, history.now.holder))
    ever = findings_seen(request, find_findings(shown, Wanted(item=history.item, statuses=EVERYTHING)))
    itself = Named(items=(history.item,))
    rows: Iterable[Any] = chain((itself, history.now), history.events, (each.after for each in history.events), ever)
    names = name_all(shown, rows, personal=may_see_people(request, shown))
    item = names.items.get(history.item)
    register = name_all(shown, [Named(items=item.opens, site=item.home_site)], personal=False) if item else Names()
    opened = entries_seen(request, shown, [each.entry for each in history.events])
    context = {
        "shown": shown,
        "section": "items",
        "now": shown.now,
        "names": Names(
            sites={**register.sites, **names.sites}, people=names.people, items={**register.items, **names.items}
        ),
        "item": item or ItemName(code=history.item),
        "on_register": item is not None,
        "is_container": item is not None and is_container(item.kind),
        "current": history.now,
        "seals_now": _seals_now(item, history.now),
        "findings": [each for each in ever if each.status == "open"],
        "settled": [each for each in ever if each.status != "open"],
        "events": _list_events(shown, history),
        "opened": opened,
        "picture": draw_band(
            history.item,
            history.events,
            now=shown.now,
            timezone=shown.timezone,
            holder_words=lambda each: _holder(each, names),
            site_words=lambda code: names.sites[code].name if code in names.sites else code,
            entry_url=lambda entry: reverse("entry", args=[entry]) if entry in opened else f"#line-{entry}",
            findings=ever,
        ),
    }
    return render(request, "items/item.html", context)


def _seals_now(item: ItemName | None, now: Standing) -> list[tuple[str, str | None]]:
    """Every seal point of the register, and any other that has a seal, with the number in place."""
    points = dict.fromkeys([*(item.seal_points if item else ()), *now.seals])
    return [(point, now.seals.get(point)) for point in points]


def _list_events(shown: Shown, history: History) -> list[EventShown]:
    assert shown.log is not None
    members = get_headlines(shown.log, [each.entry for each in history.events])
    befores = [None, *(before.after for before, _ in pairwise(history.events))]
    return [
        EventShown(
            event=event,
            what=heading(event.kind, members.get(event.entry, {})),
            same_holder=before is not None and before.holder == event.after.holder,
            same_container=before is not None and before.container == event.after.container,
            same_seals=before is not None and before.seals == event.after.seals,
        )
        for event, before in zip(history.events, befores, strict=False)
    ]


def _holder(holder: Holder, names: Names) -> tuple[str, str]:
    """Role and place, and the people."""
    place = names.sites.get(holder.site or "")
    who = ", ".join(names.people.get(code, code) for code in holder.people)
    where = f", {place.name if place else holder.site}" if holder.site else ""
    return f"{words.word(holder.role).capitalize()}{where}", who
