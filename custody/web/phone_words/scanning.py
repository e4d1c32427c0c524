"""What the scanning panel says."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

WORDS = {
    "scanning.label-of-item": _("Scan a label, or type its code"),
    "scanning.label-of-seal": _("Scan the seal, or type its number"),
    "scanning.label-of-badge": _("Scan a badge, or type what stands on it"),
    "scanning.enter": _("Enter"),
    "scanning.camera": _("Camera"),
    "scanning.light": _("Light"),
    "scanning.photo": _("Photo"),
    "scanning.picture": _("What the camera sees"),
    "scanning.camera-starts": _("The camera starts …"),
    "scanning.hold-steady": _("Hold the label before the camera, as wide as a hand."),
    "scanning.camera-refused": _(
        "The camera may not be used. Allow it for this page in the browser, or take a photo, or type the code."
    ),
    "scanning.camera-none": _("There is no camera here that can be used. Type the code, or take a photo of the label."),
    "scanning.no-light": _("The light could not be switched."),
    "scanning.photo-read": _("Reading the photo …"),
    "scanning.photo-nothing": _(
        "No code was found in the photo. Go closer, with the label flat and lit, or type the code."
    ),
    "scanning.which": _("There are several codes in the picture. Which one is meant?"),
    "scanning.neither": _("None of them"),
    "scanning.of-another-office": _("This label is of another address: {host}. Is it a label of this office?"),
    "scanning.it-is-ours": _("Yes, it is ours"),
    "scanning.not-ours": _("No, leave it out"),
    "scanning.slip-label": _(
        "One character is wrong, or two are swapped. Compare it with the label, and type it once more."
    ),
    "scanning.slip-badge": _("This badge was not read whole. Scan it again, or type what stands on it."),
}
