"""Words of the acts and of the frame around them."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

WORDS: dict[str, str | Promise] = {
    "acts.step-of": _("Step {number} of {all}"),
    "acts.go-on": _("Go on"),
    "acts.back": _("Back"),
}
