"""Words of putting an entry right."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

WORDS = {
    "amending.which": _("This entry"),
    "amending.none-chosen": _("Open the entry first, and choose “Put it right” there."),
    "amending.asking": _("Asking the record …"),
    "amending.not-fetched": _("What the entry says has to be here first."),
    "amending.no-network": _(
        "The record cannot be reached now. To put an entry right one has to see what it says: try again when there is a network."
        " There is no hurry; write down until then what is wrong with it."
    ),
    "amending.not-allowed": _("Sign in first: then the record shows what the entry says."),
    "amending.not-there": _("The record has no such entry. Perhaps it still waits on the phone that recorded it."),
    "amending.ask-again": _("Ask again"),
    "amending.what-was-wrong": _("What is wrong?"),
    "amending.choose-wrong": _("Choose all that has to change"),
    "amending.never": _("Who was named, what kind of entry it is and its election stay as they were signed."),
    "amending.how-it-should-read": _("{member}: how should it read?"),
    "amending.on-record": _("On record: {value}"),
    "amending.nothing": _("nothing"),
    "amending.same": _("That is what the record says already."),
    "amending.write-something": _("It cannot be left empty."),
    "amending.at-least-one": _("At least one, please."),
    "amending.no-time": _("The clocks never showed that time. Write it as the clock on the wall shows it."),
    "amending.zone": _("As the clock on the wall shows it, in the time zone {zone}."),
    "amending.on-the-road": _("On the road, at no place"),
    "amending.no-code": _("{text}: no code of a label. Look at the label again."),
    "amending.items-how": _("The codes of all things that belong here, one a line, as they stand on the labels."),
    "amending.runs-how": _(
        "One number a line; a run as its first and last number with two dots between: S0000026..S0000029."
    ),
    "amending.number": _("Number"),
    "amending.state": _("How it was found"),
    "amending.no-number": _("{point}: a seal that is there has a number."),
    "amending.why": _("Why is it changed?"),
    "amending.why-label": _("How it came about, and how you know what is right"),
    "amending.why-needed": _("Say why in a few words. Whoever reads the record later has nothing else."),
    "amending.who": _("Who puts it right?"),
    "amending.both-stay": _(
        "The entry stays as it was signed, and this beside it: whoever reads the record sees both."
    ),
    "amending.says": _("An entry is put right by {people}."),
    "amending.says-member": _("{member}: {value}"),
    "amending.says-why": _("Reason: “{reason}”"),
    "amending.see-it": _("See the entry"),
    # What can be put right
    "amending.member-at": _("Time"),
    "amending.member-site": _("Place"),
    "amending.member-step": _("Step"),
    "amending.member-category": _("What happened"),
    "amending.member-purpose": _("Purpose"),
    "amending.member-method": _("What became of it"),
    "amending.member-outcome": _("Outcome"),
    "amending.member-container": _("Container"),
    "amending.member-subject": _("What was counted"),
    "amending.member-items": _("Things"),
    "amending.member-seals": _("Seals that were read"),
    "amending.member-loose_seals": _("Loose seals"),
    "amending.member-figures": _("Figures"),
    "amending.member-reason": _("Reason"),
    "amending.member-note": _("Note"),
    # Kinds of entries
    "amending.kind-register": _("Put on record"),
    "amending.kind-handoff": _("Handoff"),
    "amending.kind-seal": _("Seals put on"),
    "amending.kind-unseal": _("Seals taken off"),
    "amending.kind-inspect": _("Seals read"),
    "amending.kind-pack": _("Packed"),
    "amending.kind-unpack": _("Unpacked"),
    "amending.kind-count": _("Counted"),
    "amending.kind-step": _("Step done"),
    "amending.kind-access": _("Access to a storage place"),
    "amending.kind-incident": _("Incident"),
    "amending.kind-hold": _("Hold"),
    "amending.kind-amend": _("Amendment"),
    "amending.kind-resolve": _("Finding settled"),
    "amending.kind-dispose": _("Disposal"),
}
