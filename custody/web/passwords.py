"""How long a password has to be: 15 characters where it stands alone, 8 beside a second factor (NIST SP 800-63B)."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from custody.web.second_factor import device_of

ALONE, BESIDE = 15, 8


class LengthValidator:
    """For Django's `AUTH_PASSWORD_VALIDATORS`."""

    def validate(self, password: str, user: Any = None) -> None:
        beside = user is not None and user.pk is not None and device_of(user) is not None
        least = BESIDE if beside else ALONE
        if len(password) < least:
            raise ValidationError(
                _("At least %(least)d characters, please."), code="password_too_short", params={"least": least}
            )

    def get_help_text(self) -> str:
        return _("At least 15 characters, or 8 with a second factor. A few words in a row are easy to keep in mind.")
