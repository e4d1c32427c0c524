"""Words of settling a finding."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

WORDS = {
    "settling.which": _("This finding"),
    "settling.none-chosen": _("Open the finding first, and choose “Settle it” there."),
    "settling.to-findings": _("To the findings"),
    "settling.looking-up": _("Asking the record …"),
    "settling.no-network": _(
        "The record cannot be reached now, so what it says about this finding is not shown. You can go on and sign: it is sent"
        " when there is a network."
    ),
    "settling.not-allowed": _(
        "Sign in to read what the record says about this finding. You can also go on and sign without."
    ),
    "settling.not-there": _("The record has no finding of this name any more. Perhaps it no longer holds."),
    "settling.part": _("Who has a part in it"),
    "settling.part-how": _("What these people say is welcome as a note. It takes somebody else to settle the finding."),
    "settling.what-became": _("What became of it?"),
    "settling.outcome-explained": _("It is clear how it came about, and nothing is left to do."),
    "settling.outcome-corrected": _("What was wrong has been put right."),
    "settling.outcome-accepted": _("It is as it is, and the office lives with it."),
    "settling.outcome-referred": _("Somebody else has to decide. The finding stays open."),
    "settling.why": _("Why?"),
    "settling.why-label": _("What was found out, by whom, and where that can be seen"),
    "settling.why-needed": _("Say why in a few words. Whoever reads the record later has nothing else."),
    "settling.who": _("Who settles it?"),
    "settling.says": _("The finding {finding} is settled as {outcome} by {people}."),
    "settling.says-why": _("Reason: “{reason}”"),
    "settling.not-looked-up": _(
        "The record was not asked who has a part in this finding. What they say does not settle it."
    ),
    "settling.not-open": _(
        "The finding is not open any more: {status}. What you sign is kept beside what was said before."
    ),
    "settling.has-part.one": _("{people} has a part in this finding. It is not settled by what they say."),
    "settling.has-part.other": _("{people} have a part in this finding. It is not settled by what they say."),
    "settling.stays-open": _(
        "The finding will stay open: of these people nobody can settle it. It takes one who has no part in it and is assigned"
        " as one of these: {roles}."
    ),
    "settling.referred-stays": _("A finding that is referred stays open, and shows that it was referred."),
    "settling.see-it": _("See the finding"),
}
