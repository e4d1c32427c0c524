"""Words of the return desk."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

WORDS = {
    "desk.which-place": _("Which place has come in?"),
    "desk.choose-place": _("Scan its case, or choose the place."),
    "desk.all-in": _("Everything that {place} owes is in already."),
    "desk.nothing-owed": _("No place owes anything now."),
    "desk.owed-by-nobody": _("No place owes this any more. Choose the place, or scan another label."),
    "desk.owed-with-nobody": _("Nothing that a place owes is with them. Choose the place, or scan its case."),
    "desk.several-places": _("They carry things of several places. Choose one, and take the others in after it."),
    "desk.owes.one": _("{count} item not back yet"),
    "desk.owes.other": _("{count} items not back yet"),
    "desk.with": _("with {people}"),
    "desk.what-has-come": _("What has come from {place}?"),
    "desk.of-another-place": _(
        "By the record it is owed by {place}. If their people bring it, take it off here, and take it in under {place}."
    ),
    "desk.in-already": _("{thing} is in already. It needs no second receipt."),
    "desk.is-in": _("in already"),
    "desk.taken-elsewhere": _("Another desk has just taken this in: {things}. It was taken off your list."),
    "desk.short.one": _("Not here yet: {count}"),
    "desk.short.other": _("Not here yet: {count}"),
    "desk.ask-now": _("Ask now, while the crew is still here."),
    "desk.memory-short": _(
        "A memory device is not here. Nobody leaves before it is found, or it is known where it is."
    ),
    "desk.not-here": _("not here yet"),
    "desk.held-by": _("Last held by {people}."),
    "desk.held-by-nobody": _("Nobody on record holds it."),
    "desk.look-again": _("It has turned up: scan it"),
    "desk.go-on-short": _("Take in the rest; this stays not yet accounted for"),
    "desk.left": _("Not here, and so not yet accounted for"),
    "desk.next-car": _("The next car"),
    "desk.receipt": _("Receipt to print or show"),
    "place.act-return-desk": _("Return desk"),
    "place.act-return-desk-how": _("A place has come back: tick it off"),
}
