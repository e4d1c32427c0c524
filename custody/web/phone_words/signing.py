"""Words of signing: badge, PIN, and who has signed."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

WORDS: dict[str, str | Promise] = {
    "signing.sign": _("Each of you signs"),
    "signing.end-release": _("Handing over: {role}"),
    "signing.end-receive": _("Taking over: {role}"),
    "signing.end-by": _("Done by: {role}"),
    "signing.has": _("signed"),
    "signing.has-not": _("not signed yet"),
    "signing.scan-badge": _("Scan the next badge"),
    "signing.pin-of": _("PIN of {name}"),
    "signing.sign-as": _("Sign as {name}"),
    "signing.another-badge": _("Another badge"),
    "signing.making-key": _("One moment."),
    "signing.signed": _("{name} has signed."),
    "signing.has-signed": _("{name} has signed already."),
    "signing.does-not-fit": _(
        "That PIN does not fit this badge, or the badge of {name} is no longer valid. Try once more."
    ),
    "signing.not-named": _("{name} is not named in this."),
    "signing.name-them-how": _(
        "Name them at one of the ends, and everybody signs the new text. Signatures given so far are then given again."
    ),
    "signing.name-at-release": _("{name} hands over too"),
    "signing.name-at-receive": _("{name} takes over too"),
    "signing.name-at-by": _("{name} does it too"),
    "signing.record-it": _("Record it"),
    "signing.record-without.one": _("Record it without {count} signature"),
    "signing.record-without.other": _("Record it without {count} signatures"),
    "signing.not-saved": _(
        "This could not be saved: the phone may be full. Nothing is lost yet. Make room, then record it again."
    ),
    "signing.what-is-missing": _("The record will find that a signature is missing. It can still be given later."),
}
