"""A second factor for office staff who want one: a code of six digits that an app makes anew every 30 seconds (RFC 6238)."""

from __future__ import annotations

import io
from base64 import b32encode
from typing import Any

import qrcode
from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.models import User
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django_otp import login as otp_login
from django_otp.plugins.otp_totp.models import TOTPDevice
from qrcode.image.svg import SvgPathImage

from custody.queries.shown import get_shown

NAME = "second factor"
WRONG = _("This code does not fit, or was used already. Wait for the next one.")


class SignInForm(AuthenticationForm):
    """Name and password; and a code, for whoever has set a second factor up."""

    code = forms.CharField(
        label=_("Code"),
        required=False,
        help_text=_("Only if you have set up a second factor."),
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "inputmode": "numeric"}),
    )

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        # The badge comes first on the page: a field that takes the focus would open a phone's keyboard over it.
        del self.fields["username"].widget.attrs["autofocus"]

    error_messages = {  # noqa: RUF012 - as Django has it
        "invalid_login": _("Name and password do not go together. Capitals count in both."),
        "inactive": _("This account is switched off."),
        "code": _("Name and password go together, but the code does not fit. Wait for the next one."),
    }

    def confirm_login_allowed(self, user: Any) -> None:
        super().confirm_login_allowed(user)
        device = device_of(user)
        if device is None:
            return
        if not device.verify_token(self.cleaned_data.get("code", "").replace(" ", "")):
            raise forms.ValidationError(self.error_messages["code"], code="code")
        user.otp_device = device


class CodeForm(forms.Form):
    """A code that shows that the app has the secret."""

    code = forms.CharField(
        label=_("The code that the app shows"),
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "inputmode": "numeric"}),
    )


def device_of(user: Any) -> TOTPDevice | None:
    """The second factor that somebody has set up and confirmed."""
    device: TOTPDevice | None = TOTPDevice.objects.filter(user=user, confirmed=True).first()
    return device


@never_cache
@sensitive_post_parameters()
def second_factor(request: HttpRequest) -> HttpResponse:
    """Set it up, or take it off with a code that fits."""
    assert isinstance(request.user, User)
    device = device_of(request.user)
    form = CodeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        code = form.cleaned_data["code"].replace(" ", "")
        if device is None and _confirm(request, code):
            return redirect("second-factor")
        if device is not None and device.verify_token(code):
            device.delete()
            return redirect("second-factor")
        form.add_error("code", WRONG)
    context: dict[str, Any] = {"shown": get_shown(), "section": "second-factor", "device": device, "form": form}
    if device is None:
        pending = _pending(request.user)
        secret = b32encode(pending.bin_key).decode()
        context |= {"picture": _draw(pending.config_url), "secret": " ".join(_groups(secret))}
    return render(request, "access/second_factor.html", context)


def _pending(user: User) -> TOTPDevice:
    """The device that waits to be confirmed: one, however often the page is opened."""
    pending: TOTPDevice
    pending, _made = TOTPDevice.objects.get_or_create(user=user, confirmed=False, defaults={"name": NAME})
    return pending


@transaction.atomic
def _confirm(request: HttpRequest, code: str) -> bool:
    assert isinstance(request.user, User)
    pending = _pending(request.user)
    if not pending.verify_token(code):
        return False
    pending.confirmed = True
    pending.save()
    otp_login(request, pending)
    return True


def _draw(text: str) -> SafeString:
    """A QR code as SVG, from our own library: nothing of a user's is in it."""
    code = qrcode.QRCode(border=4)
    code.add_data(text)
    file = io.BytesIO()
    code.make_image(image_factory=SvgPathImage).save(file)
    drawn = file.getvalue().decode().partition("?>")[2].strip()
    label = _("QR code for the app")
    drawn = drawn.replace("<svg ", f'<svg role="img" aria-label="{label}" ', 1)
    return mark_safe(drawn)  # noqa: S308 - made above


def _groups(text: str) -> list[str]:
    return [text[at : at + 4] for at in range(0, len(text), 4)]
