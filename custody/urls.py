"""Addresses. The API is mounted by name, as a string, so that the application does not depend on it."""

from __future__ import annotations

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("admin/", admin.site.urls),
    path("api/v1/", include("api.urls")),
    path("", include("custody.web.urls")),
]
handler400 = "custody.web.errors.bad_request"
handler403 = "custody.web.errors.forbidden"
handler404 = "custody.web.errors.not_found"
handler500 = "custody.web.errors.server_error"
