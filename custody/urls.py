"""Addresses. The API is mounted by name, as a string, so that the application does not depend on it."""

from __future__ import annotations

from django.contrib import admin
from django.urls import include, path
from django.views.generic import RedirectView

urlpatterns = [
    # One way in: the admin's own form knows no second factor.
    path("admin/login/", RedirectView.as_view(pattern_name="sign-in", query_string=True), name="admin-sign-in"),
    path("admin/", admin.site.urls),
    path("api/v1/", include("api.urls")),
    path("", include("custody.web.urls")),
]
handler400 = "custody.web.errors.bad_request"
handler403 = "custody.web.errors.forbidden"
handler404 = "custody.web.errors.not_found"
handler500 = "custody.web.errors.server_error"
