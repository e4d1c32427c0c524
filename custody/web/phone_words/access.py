"""What signing in and the enrolment of badges say."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

WORDS = {
    "access.no-badge": _("That is not a badge."),
    "access.pin-of": _("PIN of {person}"),
    "access.sign-in": _("Sign in"),
    "access.another-badge": _("Another badge"),
    "access.making-key": _("Making the key …"),
    "access.no-network": _("There is no network. Signing in needs one; handing over does not."),
    "access.another-origin": _(
        "The answer came from another address than this page. Nothing was signed. Tell the office."
    ),
    "access.forgotten": _("Nothing is left on this device."),
    # Enrolment
    "access.make": _("Make a badge"),
    "access.make-how": _(
        "Let the person choose a PIN of at least six digits and type it, without being watched. The office does not learn it"
        " and cannot find it out again."
    ),
    "access.pin": _("PIN"),
    "access.pin-again": _("The same PIN once more"),
    "access.pin-not-digits": _("A PIN is made of digits only."),
    "access.pin-short": _("At least six digits, please."),
    "access.pin-long": _("At most 64 digits, please."),
    "access.pin-common": _("Many people would choose this one: a row, a repetition or a date. Please choose another."),
    "access.pins-differ": _("The two are not the same. Please type both once more."),
    "access.enrol": _("Make the badge"),
    "access.enrolled": _("The badge is valid from now on. Print it: it cannot be shown again."),
    "access.not-enrolled": _("The badge was not taken: {detail} Nothing was changed."),
    "access.print": _("Print the badge"),
    "access.printed": _("I have printed it"),
    "access.printed-how": _("After that this page forgets the badge."),
    "access.typed": _("For typing, where nothing scans:"),
    "access.qr": _("QR code of the badge"),
    "access.rehearsal": _("Rehearsal"),
    "access.card-caution": _(
        "Personal. Whoever has this card and the PIN signs in your name. Lost? Ring the office at once."
    ),
}
