"""Addresses below `/api/v1/`."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver, path, re_path

from api.errors import not_found
from api.views.entries import Entries
from api.views.pocket import Pocket

app_name = "api"
urlpatterns: list[URLPattern | URLResolver] = [
    path("entries/", Entries.as_view(), name="entries"),
    path("sites/<str:code>/pocket/", Pocket.as_view(), name="pocket"),
    re_path(r"^(?P<path>.*)$", not_found),
]
