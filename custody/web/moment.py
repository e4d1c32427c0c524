"""Who held what at a moment, and what changed hands between two."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.paginator import Page, Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _

from custody.queries.asked import plain_code, plain_text
from custody.queries.compare import HOW, compare_holdings
from custody.queries.holdings import Held, Holds, is_known_person, is_known_place, list_holdings
from custody.queries.moments import first_time, look_at_states
from custody.queries.names import find_items
from custody.queries.outstanding import Holder
from custody.queries.shown import Shown
from custody.web.access import may_see_people, page
from custody.web.listing import name_all
from custody.web.tags import FIELD_TIME, local_time, say_time

PER_PAGE = 200
FORMATS = (FIELD_TIME, "%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M:%S")
CHANGES = {
    "came": _("Came"),
    "went": _("Went"),
    "holder": _("Changed hands"),
    "container": _("Changed container"),
}


def _local(label: Any, *, required: bool) -> forms.DateTimeField:
    widget = forms.DateTimeInput(attrs={"type": "datetime-local"})
    wrong = {"invalid": _("This is no date and time. Write it as in 2026-11-03 21:30.")}
    return forms.DateTimeField(
        label=label, required=required, input_formats=FORMATS, widget=widget, error_messages=wrong
    )


def _code(label: Any) -> forms.CharField:
    typed = {"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
    return forms.CharField(label=label, required=False, max_length=200, widget=forms.TextInput(attrs=typed))


class MomentForm(forms.Form):
    """Local times; place, person and item by code, typed or scanned."""

    at = _local(_("At"), required=True)
    since = _local(_("Compared with"), required=False)
    site = _code(_("Place (code)"))
    person = _code(_("Person (code)"))
    item = _code(_("Item"))

    def __init__(self, shown: Shown, data: dict[str, str]) -> None:
        super().__init__(data)
        self.shown = shown
        self.fields["at"].error_messages["required"] = _("Say at what time.")

    def clean_at(self) -> int:
        instant = self._instant(self.cleaned_data["at"])
        assert instant is not None
        return instant

    def clean_since(self) -> int | None:
        since, at = self._instant(self.cleaned_data["since"]), self.cleaned_data.get("at")
        if since is not None and at is not None and since >= at:
            raise forms.ValidationError(
                _("The earlier time belongs here: the two are compared from here to the other.")
            )
        return since

    def clean_site(self) -> str:
        code = plain_code(self.cleaned_data["site"])
        if code and self.shown.log and not is_known_place(self.shown.log, code):
            raise forms.ValidationError(_("No place has this code. The list of places has them all."))
        return code

    def clean_person(self) -> str:
        code = plain_code(self.cleaned_data["person"])
        if code and self.shown.log and not is_known_person(self.shown.log, code):
            raise forms.ValidationError(_("Nobody has this code. Search finds people by name."))
        return code

    def clean_item(self) -> str:
        text = plain_text(self.cleaned_data["item"])
        if not text:
            return ""
        found = find_items(self.shown.jurisdiction, text)
        if len(found) != 1:
            raise forms.ValidationError(_("No item is meant by this, or several are. Type the code on its label."))
        return found[0].code

    def _instant(self, local: datetime | None) -> int | None:
        """The instant of a local time within the record. One that the clocks skipped is none; of one that came twice, the
        earlier.
        """
        if local is None:
            return None
        there = local.replace(tzinfo=ZoneInfo(self.shown.timezone))
        if there.replace(fold=1).timestamp() < there.timestamp():  # PEP 495: so it is in a gap alone
            raise forms.ValidationError(
                _("The clocks were put forward over this time: there was no such time that day.")
            )
        instant = int(there.timestamp())
        first = first_time(self.shown.log) if self.shown.log else None
        if first is not None and instant < first:
            said = say_time(first, self.shown.timezone)
            raise forms.ValidationError(
                _("The record begins later: its first entry is of %(time)s."), params={"time": said}
            )
        if instant > self.shown.now:
            said = say_time(self.shown.now, self.shown.timezone)
            raise forms.ValidationError(_("This time has not come yet: it is %(time)s."), params={"time": said})
        return instant

    def comes_twice(self) -> bool:
        """Whether one of the times came twice that night, when the clocks were put back."""
        given = (self.cleaned_data["at"], self.cleaned_data["since"])
        local = [local_time(each, self.shown.timezone) for each in given if each is not None]
        return any(each.replace(fold=0).utcoffset() != each.replace(fold=1).utcoffset() for each in local)

    def asked(self) -> Holds:
        return Holds(**{name: self.cleaned_data[name] or None for name in ("person", "site", "item")})


@dataclass(frozen=True, slots=True, kw_only=True)
class HolderShown:
    """What one party held; `count` is that of all its things, also of those on other pages."""

    holder: Holder
    count: int
    things: Sequence[Held]


@page
def show_moment(request: HttpRequest, shown: Shown) -> HttpResponse:
    start = {"at": local_time(shown.now, shown.timezone).strftime(FIELD_TIME)}
    form = MomentForm(shown, {**start, **request.GET.dict()})
    context = {"shown": shown, "section": "moment", "now": shown.now, "form": form}
    if shown.log is None or not form.is_valid():
        return render(request, "moment/moment.html", context, status=200 if form.is_valid() else 422)
    make = _held if form.cleaned_data["since"] is None else _changes
    context |= {"chosen": form.cleaned_data, "comes_twice": form.comes_twice(), **make(request, shown, form)}
    return render(request, "moment/moment.html", context)


def _held(request: HttpRequest, shown: Shown, form: MomentForm) -> dict[str, Any]:
    """Who held what at one moment, by holder."""
    assert shown.log is not None
    moment = look_at_states(shown.log, form.cleaned_data["at"])
    held = sorted(list_holdings(moment, form.asked()), key=_by_holder)
    page_of = Paginator(held, PER_PAGE).get_page(request.GET.get("page"))
    things = list(page_of.object_list)
    names = name_all(shown, things, personal=may_see_people(request, shown))
    return {"groups": _group(held, things), "names": names, **_pages(request, page_of)}


def _changes(request: HttpRequest, shown: Shown, form: MomentForm) -> dict[str, Any]:
    """What was held otherwise at the later of two moments."""
    assert shown.log is not None
    then, now = (list_holdings(look_at_states(shown.log, form.cleaned_data[name])) for name in ("since", "at"))
    changes = compare_holdings(then, now, form.asked())
    page_of = Paginator(changes, PER_PAGE).get_page(request.GET.get("page"))
    rows = [(CHANGES[change.how], change) for change in page_of.object_list]
    things = [each for _how, change in rows for each in (change.before, change.after) if each]
    return {
        "changes": rows,
        "counts": [(CHANGES[how], sum(each.how == how for each in changes)) for how in HOW],
        "names": name_all(shown, things, personal=may_see_people(request, shown)),
        **_pages(request, page_of),
    }


def _pages(request: HttpRequest, page_of: Page[Any]) -> dict[str, Any]:
    query = request.GET.copy()
    query.pop("page", None)
    return {
        "count": page_of.paginator.count,
        "number": page_of.number,
        "last": page_of.paginator.num_pages,
        "before": page_of.number - 1,
        "after": page_of.number + 1,
        "query": f"{query.urlencode()}&" if query else "",
    }


def _by_holder(held: Held) -> tuple[Any, ...]:
    holder = held.holder
    return (holder.site or "", holder.role, holder.people, held.item)


def _group(held: Iterable[Held], things: Sequence[Held]) -> list[HolderShown]:
    """The things of a page by who held them. Both come in the order of `_by_holder`."""
    counts = {holder: len(list(of)) for holder, of in groupby(held, key=lambda each: each.holder)}
    return [
        HolderShown(holder=holder, count=counts[holder], things=list(of))
        for holder, of in groupby(things, key=lambda each: each.holder)
    ]
