"""The tables of the register, one by one: what their lists show, how they are searched, which page is about a row."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.db.models import OuterRef, QuerySet, Subquery
from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from custody.admin.columns import (
    BY_ELECTION,
    BY_JURISDICTION,
    BY_RETIRED,
    column_of,
    filter_by_word,
    word_of,
)
from custody.admin.rows import RowAdmin
from custody.domain.vocabulary import SiteKind
from custody.models import register
from custody.models.register import PersonalField, PersonalValue
from custody.web.tags import say_time

RETIRED = column_of("retired", lambda row: _("retired") if row.retired else "")


def _time(name: str, timezone: str = "") -> Any:
    """A column with an instant, in the row's own time zone or in UTC; empty where it is open-ended."""

    def read(row: Any) -> str:
        instant = getattr(row, name)
        return "" if instant is None else say_time(instant, getattr(row, timezone) if timezone else "UTC")

    return column_of(name, read)


def _personal(field: PersonalField, person: str) -> Subquery:
    """What is kept of the person whose code stands in a column."""
    kept = PersonalValue.objects.filter(jurisdiction=OuterRef("jurisdiction"), person=OuterRef(person), field=field)
    return Subquery(kept.values("value")[:1])


@admin.register(register.Jurisdiction)
class JurisdictionAdmin(RowAdmin):
    table = "jurisdictions"
    explained = _("A new jurisdiction comes by the command load_register, which makes its logs.")
    may_add = may_retire = False
    list_display = (column_of("code"), column_of("name"), column_of("timezone"))
    ordering = ("code",)


@admin.register(register.Election)
class ElectionAdmin(RowAdmin):
    table = "elections"
    explained = _("A change of the times counts for what is on record already: its findings are worked out again.")
    list_display = (
        column_of("code"),
        column_of("name"),
        column_of("date"),
        _time("polls_open", "timezone"),
        _time("polls_close", "timezone"),
        _time("return_deadline", "timezone"),
        RETIRED,
    )
    list_filter = (BY_JURISDICTION, BY_RETIRED)
    search_fields = ("code", "name")
    ordering = ("-date", "code")


@admin.register(register.Site)
class SiteAdmin(RowAdmin):
    table = "sites"
    list_display = (
        column_of("code"),
        column_of("name"),
        word_of("kind"),
        column_of("address"),
        column_of("phone"),
        RETIRED,
    )
    list_filter = (BY_JURISDICTION, filter_by_word("sites", "kind"), BY_RETIRED)
    search_fields = ("code", "name", "address")
    ordering = ("jurisdiction", "code")

    def page_of(self, row: Any) -> str | None:
        return reverse("place-day", kwargs={"code": row.code}) if row.kind == SiteKind.POLLING_PLACE else None


@admin.register(register.Person)
class PersonAdmin(RowAdmin):
    table = "people"
    explained = _("Badges are made and called in on the page about the person, under “People”, not here.")
    left_out = ("public_key",)
    list_display = (
        column_of("code"),
        column_of("known_name", label="name"),
        column_of("known_phone", label="phone"),
        column_of("affiliation"),
        RETIRED,
    )
    list_filter = (BY_JURISDICTION, BY_RETIRED)
    search_fields = ("code", "known_name", "affiliation")
    ordering = ("jurisdiction", "code")

    def get_queryset(self, request: HttpRequest) -> QuerySet[Any]:
        name, phone = (_personal(field, "code") for field in (PersonalField.NAME, PersonalField.PHONE))
        return super().get_queryset(request).annotate(known_name=name, known_phone=phone)

    def page_of(self, row: Any) -> str | None:
        return reverse("person", kwargs={"code": row.code})


@admin.register(register.Key)
class KeyAdmin(RowAdmin):
    table = "keys"
    explained = _(
        "Keys are shown here and not changed: badges are made and called in under “People”, other keys and their limits come"
        " by the command load_register."
    )
    may_add = may_change = may_retire = False
    list_display = (
        column_of("keyid", label="key"),
        column_of("person"),
        _time("valid_from"),
        _time("valid_until"),
        _time("revoked_at"),
    )
    list_filter = (BY_JURISDICTION,)
    search_fields = ("keyid", "person")
    ordering = ("jurisdiction", "person", "keyid")


@admin.register(register.Item)
class ItemAdmin(RowAdmin):
    table = "items"
    list_display = (
        column_of("code"),
        word_of("kind"),
        column_of("description"),
        column_of("serial"),
        column_of("tag"),
        column_of("home_site"),
        RETIRED,
    )
    list_filter = (BY_JURISDICTION, filter_by_word("items", "kind"), BY_RETIRED)
    search_fields = ("code", "description", "serial", "tag", "home_site")
    ordering = ("code",)

    def page_of(self, row: Any) -> str | None:
        return reverse("item", kwargs={"code": row.code})


@admin.register(register.Assignment)
class AssignmentAdmin(RowAdmin):
    table = "assignments"
    explained = _("Who works where is not rewritten: retire the row that no longer holds, and add another.")
    list_display = (
        column_of("person"),
        column_of("known_name", label="name"),
        word_of("role"),
        column_of("site"),
        column_of("election"),
        RETIRED,
    )
    list_filter = (BY_ELECTION, filter_by_word("assignments", "role"), BY_RETIRED)
    search_fields = ("person", "known_name", "site")
    ordering = ("election", "site", "role", "person")

    def get_queryset(self, request: HttpRequest) -> QuerySet[Any]:
        return super().get_queryset(request).annotate(known_name=_personal(PersonalField.NAME, "person"))


@admin.register(register.SealLot)
class SealLotAdmin(RowAdmin):
    table = "seal_lots"
    explained = _(
        "One row is one part of a lot. To split a part, make its last number smaller, then add the other part."
    )
    list_display = (
        column_of("maker"),
        column_of("lot"),
        column_of("seal_class", label="class"),
        column_of("first", lambda row: f"{row.prefix}{row.first:0{row.width}d}"),
        column_of("last", lambda row: f"{row.prefix}{row.last:0{row.width}d}"),
        column_of("issued_to"),
        column_of("election"),
        RETIRED,
    )
    list_filter = (BY_JURISDICTION, BY_ELECTION, filter_by_word("seal_lots", "class"), BY_RETIRED)
    search_fields = ("maker", "lot", "issued_to")
    ordering = ("jurisdiction", "maker", "lot", "prefix", "first")


@admin.register(register.Kit)
class KitAdmin(RowAdmin):
    table = "kits"
    list_display = (column_of("item"), column_of("site"), column_of("election"), RETIRED)
    list_filter = (BY_ELECTION, BY_RETIRED)
    search_fields = ("item", "site")
    ordering = ("election", "site", "item")

    def page_of(self, row: Any) -> str | None:
        return reverse("item", kwargs={"code": row.item})
