"""What every table of the register has in the admin: a list, and a form that puts a row on the register log."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from django import forms
from django.contrib import admin, messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from custody import clock
from custody.admin.columns import LABELS, field_of
from custody.domain.register import KEY_MEMBERS
from custody.errors import CustodyError
from custody.masterdata.drafts import TABLES
from custody.models.register import Jurisdiction
from custody.queries.asked import is_badge
from custody.queries.register_row import RowOnRecord, get_row
from custody.queries.shown import get_shown
from custody.services.change_row import RowName, change_row
from custody.services.load_register import lock_registers
from custody.services.retire_row import retire_row
from custody.web.access import without_secrets
from custody.web.tags import say_time

RETIRED_HELP = gettext_lazy(
    "It left service. Nothing is deleted: what is on record keeps naming it, and it can come back."
)


class RowForm(forms.ModelForm):
    """One row in the cells of its table's file. Django neither validates nor saves it: services do both in one go.

    That happens at the end of validation, so that what they refuse stands at its field. The admin's view is the
    transaction around it.
    """

    table = ""
    user = ""
    written = 0
    """Lines on the register log."""

    class Meta:
        fields = ()

    def __init__(self, *given: Any, **more: Any) -> None:
        super().__init__(*given, **more)
        self.is_new = self.instance._state.adding
        if not self.is_new:
            cells = on_record(self.table, self.instance).cells
            self.initial = {**cells, "retired": self.instance.retired, "seen": self.instance.line}
            for name in ("jurisdiction", *KEY_MEMBERS[self.table]):
                if name in self.fields:
                    self.fields[name].disabled = True
                    self.fields[name].help_text = _("Stays as it is.")
        if self.data.get("retired"):
            for field in self.fields.values():
                field.required = False  # a name that was erased need not be given again

    def _post_clean(self) -> None:
        if self.errors or self._is_stale(self.cleaned_data.pop("seen", None)):
            return
        if self.cleaned_data.pop("retired", False):
            self._retire()
            return
        changed = None if self.is_new else name_of(self.table, self.instance)
        report = change_row(self.table, self.cleaned_data, changed=changed, user=self.user, now=clock.now())
        for problem in report.problems:
            at = problem.column if problem.column in self.fields else None
            self.add_error(at, capfirst(problem.reason) if at or not problem.column else str(problem))
        if report.row:
            self._find(report.row, report.lines)

    def _is_stale(self, seen: int | None) -> bool:
        """Whether the row was set anew since the form was filled in; nobody sets it from here on."""
        if self.is_new:
            return False
        lock_registers()
        line = self._meta.model._default_manager.filter(pk=self.instance.pk).values_list("line", flat=True).first()
        if line != seen:
            self.add_error(None, _("Somebody changed this row meanwhile. Open it again, and look before you save."))
        return line != seen

    def _retire(self) -> None:
        for name in self.changed_data:
            if name != "retired":
                self.add_error(
                    name, _("A row that leaves service keeps what it says. Save the change without that first.")
                )
        if not self.errors:
            row = name_of(self.table, self.instance)
            self._find(row, retire_row(row, user=self.user, now=clock.now()))

    def _find(self, name: RowName, lines: int) -> None:
        key = dict(zip(KEY_MEMBERS[self.table], name.key, strict=True))
        self.instance = self._meta.model._default_manager.get(jurisdiction=name.jurisdiction, **key)
        self.written = lines


class RowAdmin(admin.ModelAdmin):
    """A table of the register. `explained` says what else there is to know, above the list and the form."""

    table = ""
    explained: Any = ""
    left_out: tuple[str, ...] = ()
    may_add = may_change = may_retire = True
    actions = None
    list_per_page = 100
    show_facets = admin.ShowFacets.NEVER
    readonly_fields = ("set_last",)

    class Media:
        css: ClassVar = {"all": ["custody/admin.css"]}

    def has_add_permission(self, request: HttpRequest) -> bool:
        return self.may_add and super().has_add_permission(request)

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return self.may_change and super().has_change_permission(request, obj)

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        # Who may change rows may see those that only come by another way.
        return super().has_view_permission(request, obj) or super().has_change_permission(request, obj)

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def get_form(self, request: HttpRequest, obj: Any = None, change: bool = False, **more: Any) -> Any:  # noqa: FBT001, FBT002
        fields: dict[str, Any] = {}
        may_fill_in = self.may_add if obj is None else self.has_change_permission(request, obj)
        if may_fill_in:
            columns = (column for column in TABLES[self.table] if column.name not in self.left_out)
            fields = {column.name: field_of(self.table, column) for column in columns}
        if may_fill_in and obj is not None:
            fields["seen"] = forms.IntegerField(widget=forms.HiddenInput)
        if may_fill_in and obj is not None and self.may_retire:
            fields["retired"] = forms.BooleanField(
                label=capfirst(LABELS["retired"]), help_text=RETIRED_HELP, required=False
            )
        meta = type("Meta", (RowForm.Meta,), {"model": self.model})
        members = {**fields, "Meta": meta, "table": self.table, "user": f"user-{request.user.pk}"}
        return forms.models.ModelFormMetaclass("RowForm", (RowForm,), members)

    def get_changeform_initial_data(self, request: HttpRequest) -> dict[str, Any]:
        """Where there is but one jurisdiction, it is chosen already."""
        codes = list(Jurisdiction.objects.values_list("code", flat=True)[:2])
        return ({"jurisdiction": codes[0]} if len(codes) == 1 else {}) | super().get_changeform_initial_data(request)

    def get_fieldsets(self, request: HttpRequest, obj: Any = None) -> Any:
        described = {"description": self.explained}
        if obj is None:
            return [(None, {"fields": list(self.get_form(request).base_fields), **described})]
        if self.has_change_permission(request, obj):
            fields = list(self.get_form(request, obj).base_fields)
        else:
            fields = list(self.list_display)
        return [(None, {"fields": fields, **described}), (_("On record"), {"fields": ["set_last"]})]

    @admin.display(description=gettext_lazy("set last by"))
    def set_last(self, row: Any) -> str:
        known = on_record(self.table, row)
        zone = Jurisdiction.objects.filter(code=row.jurisdiction).values_list("timezone", flat=True).first()
        words = {
            "line": known.line,
            "log": known.log,
            "time": say_time(known.received, zone or "UTC"),
            "user": known.user,
        }
        return _("line %(line)d of the log %(log)s, %(time)s, by %(user)s") % words

    def view_on_site(self, row: Any) -> str | None:
        """The page about it, where the pages show its jurisdiction."""
        try:
            is_shown = row.jurisdiction == get_shown().jurisdiction
        except CustodyError:
            return None
        return self.page_of(row) if is_shown else None

    def page_of(self, row: Any) -> str | None:
        return None

    def changelist_view(self, request: HttpRequest, extra_context: Mapping[str, Any] | None = None) -> HttpResponse:
        if is_badge(request.GET.get("q", "")):
            return redirect(without_secrets(request))
        return super().changelist_view(request, {**(extra_context or {}), "explained": self.explained})

    def changeform_view(self, request: HttpRequest, *given: Any, **more: Any) -> HttpResponse:
        try:
            return super().changeform_view(request, *given, **more)
        except CustodyError as error:
            # The tables are not what the log says: nothing is written on top of that.
            self.message_user(request, error.detail, messages.ERROR)
            return redirect(f"admin:{self.opts.app_label}_{self.opts.model_name}_changelist")

    def save_form(self, request: HttpRequest, form: Any, change: bool) -> Any:  # noqa: FBT001
        form.instance.written = form.written
        return form.instance

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: Any) -> None:
        """The services have written it."""

    def save_related(self, request: HttpRequest, form: Any, formsets: Any, change: Any) -> None:
        """Nothing is related by foreign key."""

    def log_change(self, request: HttpRequest, obj: Any, message: Any) -> Any:
        return super().log_change(request, obj, message) if obj.written else None

    def response_change(self, request: HttpRequest, obj: Any) -> HttpResponse:
        if obj.written:
            return super().response_change(request, obj)
        self.message_user(request, _("Nothing was different, and nothing was written."), messages.INFO)
        if "_continue" in request.POST:
            return HttpResponseRedirect(request.path)
        return self.response_post_save_change(request, obj)


def name_of(table: str, row: Any) -> RowName:
    key = tuple(getattr(row, member) for member in KEY_MEMBERS[table])
    return RowName(table=table, jurisdiction=row.jurisdiction, key=key)


def on_record(table: str, row: Any) -> RowOnRecord:
    """What the log has of a row; read once a request."""
    known: RowOnRecord | None = row.__dict__.get("_on_record")
    if known is None:
        known = row._on_record = get_row(table, row.jurisdiction, name_of(table, row).key, row.line)
    return known
