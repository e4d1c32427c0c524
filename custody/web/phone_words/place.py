"""Words of the page of this place, and of what is still missing there."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

WORDS: dict[str, str | Promise] = {
    "place.which": _("Which place is this?"),
    "place.which-how": _(
        "Choose it once. What is known about it is then kept on this phone, and works without a network."
    ),
    "place.find": _("Find a place"),
    "place.or-scan": _("Or scan the code of the place."),
    "place.none-like-it": _("No place of that name."),
    "place.no-network": _(
        "There is no network now. What is known about a place has to be fetched once; after that no network is needed."
    ),
    "place.try-again": _("Try again"),
    "place.sign-in-first": _("Sign in first: then this phone may fetch what is known about the place."),
    "place.sign-in": _("Sign in"),
    "place.fetching": _("Fetching what is known about {place}."),
    "place.not-fetched": _("That could not be fetched now. What is on this phone stays as it is."),
    "place.as-of": _("{election}. Brought up to date {time}."),
    "place.refresh": _("Bring up to date"),
    "place.another-how": _("What waits to be sent stays on this phone and is sent from wherever you are."),
    "place.choose-another": _("Choose another place"),
    "place.here": _("What can be done here"),
    "place.next": _("Next: {act}"),
    "place.to-do": _("Still to do"),
    "place.polls-are-open": _("The polls are open. Record it when they close."),
    "place.steps-open": _("{steps}: not on record yet"),
    "place.owed.one": _("{count} thing must still go back from here"),
    "place.owed.other": _("{count} things must still go back from here"),
    "place.see-what": _("See what"),
    "place.to-steps": _("To the steps"),
    "place.nothing-to-do": _("Nothing is left to do here."),
    "place.act-hand-over": _("Hand over"),
    "place.act-hand-over-how": _("Things leave your hands"),
    "place.act-receive": _("Receive"),
    "place.act-receive-how": _("Things come into your hands"),
    "place.act-apply-seals": _("Put seals on"),
    "place.act-apply-seals-how": _("New seals on what is closed"),
    "place.act-read-seals": _("Read seals"),
    "place.act-read-seals-how": _("Compare them with the record"),
    "place.act-remove-seals": _("Take seals off"),
    "place.act-remove-seals-how": _("Read first, then cut"),
    "place.act-pack": _("Pack"),
    "place.act-pack-how": _("Things go into a container"),
    "place.act-unpack": _("Unpack"),
    "place.act-unpack-how": _("Things come out of it"),
    "place.act-count": _("Count"),
    "place.act-count-how": _("Counters, ballots, the account"),
    "place.act-steps": _("Steps"),
    "place.act-steps-how": _("Opening and closing, in order"),
    "place.act-missing": _("Still missing here"),
    "place.act-missing-how": _("Before anybody leaves"),
    "place.act-incident": _("Report an incident"),
    "place.act-incident-how": _("Lost, found, damaged, out of the ordinary"),
    "missing.nothing": _("Nothing is missing. All that this place owes has been handed over."),
    "missing.how": _("Look now, while everybody is still here. Then hand it over."),
    "missing.with-us": _("Not handed over yet"),
    "missing.with-nobody": _("In nobody's hands by the record"),
    "missing.lies-in": _("By the record it lies in {container}."),
    "missing.hand-over": _("Hand over"),
    "missing.report": _("It cannot be found"),
    "missing.back": _("This place"),
    "missing.look-ballot-container": _(
        "Look beside the scanner, under the tables, and in the cars that are being loaded."
    ),
    "missing.look-transfer-case": _("Look where the tapes were signed, and by the door."),
    "missing.look-memory-device": _(
        "Look in the scanner, behind the door of the device; then in the envelopes, bags and cabinets."
    ),
    "missing.look-results-tape": _("Look at the printer of the scanner, and where the tapes were signed."),
    "missing.look-ballot-stock": _("Look in the cabinet, under the check-in table, and in the supply boxes."),
    "missing.look-envelope": _("Look in the bags, in the transfer case and on the chief's table."),
    "missing.look-key-set": _("Look in the locks, then in pockets. Keys travel apart from what they open."),
    "missing.look-pollbook": _("Look on the check-in table, at the charger, and in its bag."),
    "missing.look-scanner": _("Look where it stood, and whether it is locked and sealed."),
    "missing.look-supply-kit": _("Look in the cabinet and by the door."),
}
