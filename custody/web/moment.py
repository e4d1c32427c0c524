"""Who held what at a moment, and what changed hands between two."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from django import forms
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _

from custody.queries.compare import compare_holdings
from custody.queries.holdings import Held, list_holdings
from custody.queries.moments import look_at
from custody.queries.names import find_items
from custody.queries.shown import Shown
from custody.web.access import may_see_people, page
from custody.web.listing import name_all

PER_PAGE = 200
FORMATS = ("%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M:%S")


class MomentForm(forms.Form):
    """Local times; place, person and item by code."""

    at = forms.DateTimeField(
        label=_("At"), input_formats=FORMATS, widget=forms.DateTimeInput(attrs={"type": "datetime-local"})
    )
    since = forms.DateTimeField(
        label=_("Compared with (may be empty)"),
        required=False,
        input_formats=FORMATS,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
    )
    site = forms.CharField(label=_("Place (code)"), required=False, max_length=64)
    person = forms.CharField(label=_("Person (code)"), required=False, max_length=64)
    item = forms.CharField(label=_("Item (code, tag or serial number)"), required=False, max_length=64)

    def __init__(self, shown: Shown, data: object) -> None:
        super().__init__(data)  # type: ignore[arg-type]
        self.shown = shown

    def clean_at(self) -> int:
        instant = self._instant(self.cleaned_data["at"])
        assert instant is not None
        return instant

    def clean_since(self) -> int | None:
        return self._instant(self.cleaned_data["since"])

    def clean_item(self) -> str:
        text = self.cleaned_data["item"].strip()
        if not text:
            return ""
        found = find_items(self.shown.jurisdiction, text)
        if len(found) != 1:
            raise forms.ValidationError(_("No item is meant by this, or several are. Type the code on its label."))
        return found[0].code

    def _instant(self, local: datetime | None) -> int | None:
        """The instant of a local time. One that the clocks skipped is none; of one that came twice, the earlier."""
        if local is None:
            return None
        zone = ZoneInfo(self.shown.timezone)
        there = local.replace(tzinfo=None).replace(tzinfo=zone)
        instant = int(there.timestamp())
        if datetime.fromtimestamp(instant, zone).replace(tzinfo=None) != there.replace(tzinfo=None):
            raise forms.ValidationError(
                _("The clocks were put forward over this time: there was no such time that day.")
            )
        return instant


@page
def show_moment(request: HttpRequest, shown: Shown) -> HttpResponse:
    zone = ZoneInfo(shown.timezone)
    start = {"at": datetime.fromtimestamp(shown.now, zone).strftime(FORMATS[0])}
    form = MomentForm(shown, {**start, **request.GET.dict()})
    context = {"shown": shown, "section": "moment", "now": shown.now, "form": form}
    if shown.log is None or not form.is_valid():
        return render(request, "moment/moment.html", context, status=200 if form.is_valid() else 422)
    asked = form.cleaned_data
    held = _held(shown, asked["at"], asked)
    rows = compare_holdings(_held(shown, asked["since"], asked), held) if asked["since"] is not None else held
    page_of = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    shown_rows = list(page_of.object_list)
    parts = [
        part for each in shown_rows for part in (getattr(each, "before", None), getattr(each, "after", each)) if part
    ]
    query = request.GET.copy()
    query.pop("page", None)
    context |= {
        "chosen": asked,
        "rows": shown_rows,
        "count": len(rows),
        "number": page_of.number,
        "last": page_of.paginator.num_pages,
        "before": page_of.number - 1,
        "after": page_of.number + 1,
        "query": f"{query.urlencode()}&" if query else "",
        "names": name_all(shown, parts, personal=may_see_people(request, shown)),
    }
    return render(request, "moment/moment.html", context)


def _held(shown: Shown, at: int, asked: dict[str, str]) -> list[Held]:
    assert shown.log is not None
    found = list_holdings(
        look_at(shown.log, at), person=asked["person"].strip() or None, site=asked["site"].strip() or None
    )
    return [each for each in found if asked["item"] in ("", each.item)]
