"""The one Django application of the package."""

from __future__ import annotations

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class CustodyConfig(AppConfig):
    name = "custody"
    label = "custody"
    verbose_name = _("custody log")

    def ready(self) -> None:
        from custody import checks  # noqa: F401 - registers the checks
