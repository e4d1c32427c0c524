"""Words of taking photos."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

WORDS = {
    "photos.photos": _("Photos, if they help"),
    "photos.how": _(
        "A photo of the seal, the damage or the paper says more than many words. It is signed for with the entry."
    ),
    "photos.caution": _(
        "It cannot be taken back later. No voters, no marked ballots, no lists of voters, no badge or PIN in the picture. In some"
        " places the law does not let anybody photograph here: when in doubt, ask the office first."
    ),
    "photos.take": _("Take a photo"),
    "photos.making-smaller": _("Making it smaller, and taking off where and when it was taken …"),
    "photos.kept": _("Saved on this phone. Look whether it shows what it should."),
    "photos.enough": _("That makes {count} photos, as many as go with one entry."),
    "photos.no-picture": _("This is no picture that this browser can read. Take another one."),
    "photos.no-room": _("There is no room left on this phone for it. You can go on without."),
    "photos.number": _("Photo {number} of {all}"),
    "photos.drop": _("Take off"),
    "photos.dropped": _("Taken off."),
    "photos.go-on-without": _("Go on without"),
    "photos.says.one": _("With {count} photo."),
    "photos.says.other": _("With {count} photos."),
}
