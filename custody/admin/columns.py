"""Columns of the register's tables as people read them: labels, fields of forms, columns and filters of lists."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from enum import StrEnum
from typing import Any

from django import forms
from django.contrib import admin
from django.db.models import Model, QuerySet
from django.http import HttpRequest
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _

from custody.domain.vocabulary import ItemKind, Role, SiteKind
from custody.masterdata import cells
from custody.masterdata.drafts import Column, SealClass
from custody.models.register import Election, Jurisdiction
from custody.queries.asked import is_badge, plain_text
from custody.web.words import word

LABELS: Mapping[str, Any] = {
    "address": _("address"),
    "affiliation": _("affiliation"),
    "class": _("seal class"),
    "code": _("code"),
    "date": _("date"),
    "description": _("description"),
    "election": _("election"),
    "first": _("first number"),
    "home_site": _("home site"),
    "issued_to": _("issued to"),
    "item": _("item"),
    "jurisdiction": _("jurisdiction"),
    "key": _("key"),
    "kind": _("kind"),
    "last": _("last number"),
    "lot": _("lot"),
    "maker": _("maker"),
    "name": _("name"),
    "opens": _("opens"),
    "person": _("person"),
    "phone": _("phone"),
    "polls_close": _("polls close"),
    "polls_open": _("polls open"),
    "prefix": _("prefix"),
    "retired": _("retired"),
    "return_deadline": _("return deadline"),
    "revoked_at": _("revoked at"),
    "role": _("role"),
    "seal_points": _("seal points"),
    "serial": _("serial number"),
    "site": _("site"),
    "tag": _("tag"),
    "timezone": _("time zone"),
    "valid_from": _("valid from"),
    "valid_until": _("valid until"),
    "width": _("number of digits"),
}

HELP: Mapping[tuple[str, str], Any] = {
    ("items", "code"): _(
        "Eight characters, as on the label. Leave it empty, and a new item gets the next code of its kind."
    ),
    ("items", "home_site"): _("The code of the site where it is kept."),
    ("items", "seal_points"): _("Where seals go on, with semicolons between them, such as lid;bin."),
    ("items", "opens"): _("Of a key set: the codes of what it opens, with semicolons between them."),
    ("assignments", "person"): _("The person’s code."),
    ("assignments", "site"): _("The site’s code; empty for who is on the move."),
    ("seal_lots", "class"): _("ISO 17712: I indicative, S security, H high security."),
    ("seal_lots", "prefix"): _("What stands before the digits of every number."),
    ("seal_lots", "width"): _("How many digits a number has, with its zeros."),
    ("seal_lots", "issued_to"): _("The code of the site that gets them; then the election too."),
    ("kits", "site"): _("The site’s code."),
    ("kits", "item"): _("The item’s code, as on its label. An item is in one kit of an election."),
    ("people", "name"): _("Kept beside the log, which has a commitment to it; it can be erased."),
    ("people", "phone"): _("Kept as the name is. Left empty, the number that was kept is erased."),
    ("elections", "timezone"): _("By its name in the IANA list, such as America/Chicago."),
    ("elections", "polls_open"): _("Local time in the election’s time zone."),
    ("jurisdictions", "timezone"): _("By its name in the IANA list, such as America/Chicago."),
}

WORDS: Mapping[tuple[str, str], type[StrEnum]] = {
    ("sites", "kind"): SiteKind,
    ("items", "kind"): ItemKind,
    ("assignments", "role"): Role,
    ("seal_lots", "class"): SealClass,
}
_INPUTS: Mapping[cells.Read, str] = {cells.read_date: "date", cells.read_local_time: "datetime-local"}
_LONG = ("address", "description")
_CODES = (cells.read_code, cells.read_item_code)


class CellField(forms.CharField):
    """One cell. What a scanner types into it counts as the code that it stands for, and the secret of a badge is dropped."""

    def __init__(self, *, is_code: bool, **more: Any) -> None:
        super().__init__(**more)
        self.is_code = is_code

    def to_python(self, value: Any) -> str:
        return self._read(super().to_python(value) or "")

    def bound_data(self, data: Any, initial: Any) -> Any:
        return self._read(data) if isinstance(data, str) else super().bound_data(data, initial)

    def _read(self, text: str) -> str:
        text = text.replace("\r\n", "\n")
        return plain_text(text) if self.is_code or is_badge(text) else text


def field_of(table: str, column: Column) -> forms.Field:
    """The field of a form for one column of a table."""
    name, given = column.name, (table, column.name)
    more: dict[str, Any] = {"label": capfirst(LABELS[name]), "help_text": HELP.get(given, "")}
    required = not column.may_be_empty
    empty: list[tuple[str, Any]] = [("", "—")]
    if given in WORDS:
        choices = [(each.value, word(each)) for each in WORDS[given]]
        return forms.ChoiceField(choices=empty + choices, required=required, **more)
    if name in ("jurisdiction", "election"):
        return forms.ChoiceField(choices=lambda: empty + list(_codes(name)), required=required, **more)
    widget: forms.Widget = forms.TextInput(attrs={"type": _INPUTS.get(column.read, "text"), "class": "vTextField"})
    if name in _LONG:
        widget = forms.Textarea(attrs={"rows": 2, "class": "vLargeTextField"})
    return CellField(is_code=column.read in _CODES, widget=widget, required=required, **more)


def _codes(column: str) -> Iterable[tuple[str, str]]:
    """Code, and code with name, of what is few: jurisdictions or elections."""
    model = Jurisdiction if column == "jurisdiction" else Election
    return [
        (row["code"], f"{row['code']} – {row['name']}") for row in model.objects.order_by("code").values("code", "name")
    ]


def column_of(name: str, read: Callable[[Any], Any] | None = None, *, label: str = "") -> Callable[[Any], Any]:
    """A column of a list: a field of the model or annotation by its name, or what `read` makes of the row."""

    @admin.display(description=LABELS[label or name], ordering=name)
    def show(row: Model) -> Any:
        return read(row) if read else getattr(row, name)

    show.__name__ = name
    return show


def word_of(name: str) -> Callable[[Any], Any]:
    """A column of a list that holds a word of the record."""
    return column_of(name, lambda row: word(getattr(row, name)))


class _Filter(admin.SimpleListFilter):
    """Rows of which one column has one of few values; not shown where there is nothing to choose."""

    def has_output(self) -> bool:
        return len(self.lookup_choices) > 1

    def queryset(self, request: HttpRequest, queryset: QuerySet[Any]) -> QuerySet[Any]:
        chosen = self.value()
        known = {str(value) for value, _name in self.lookup_choices}
        return queryset.filter(**{str(self.parameter_name): chosen}) if chosen in known else queryset


def filter_by(column: str, choices: Callable[[], Iterable[tuple[str, Any]]]) -> type[admin.SimpleListFilter]:
    """A filter of a list by one of the values that `choices` gives, with their names."""

    class Chosen(_Filter):
        title = LABELS[column]
        parameter_name = column

        def lookups(self, request: HttpRequest, model_admin: Any) -> list[tuple[str, Any]]:
            return list(choices())

    return Chosen


def filter_by_word(table: str, column: str) -> type[admin.SimpleListFilter]:
    return filter_by(column, lambda: [(each.value, word(each)) for each in WORDS[table, column]])


BY_JURISDICTION = filter_by("jurisdiction", lambda: _codes("jurisdiction"))
BY_ELECTION = filter_by("election", lambda: _codes("election"))
BY_RETIRED = filter_by("retired", lambda: [("0", _("in service")), ("1", _("retired"))])
