"""What the record will find in an act, said before anybody signs. Short: the finding itself says more, once it is on record."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

WORDS = {
    "foresight.end-release": _("Giving"),
    "foresight.end-receive": _("Taking"),
    "foresight.end-by": _("Doing this"),
    "foresight.lone-custodian.one": _("{end}: {count} person is asked for."),
    "foresight.lone-custodian.other": _("{end}: this takes {count} people. Somebody is missing."),
    "foresight.same-person-both-ends": _("Somebody stands at both ends. Each end needs people of its own."),
    "foresight.same-affiliation": _("{end}: both are of the same affiliation. They should differ."),
    "foresight.custody-gap.one": _("On record, somebody else holds {items}. A handover may be missing."),
    "foresight.custody-gap.other": _("On record, somebody else holds {items}. A handover may be missing."),
    "foresight.not-assigned": _("{end}: somebody here is not assigned as {role}."),
    "foresight.not-on-register.one": _("{items}: not known at this place. Is the code right?"),
    "foresight.not-on-register.other": _("{items}: not known at this place. Are the codes right?"),
    "foresight.seal-mismatch": _("{items}: the number is not the one on record. It is recorded as it was read."),
    "foresight.seal-not-intact": _("{items}: the seal is {state}. Keep what is left of it."),
    "foresight.seal-unread.one": _("{items}: {count} seal was not read."),
    "foresight.seal-unread.other": _("{items}: {count} seals were not read."),
    "foresight.unsealed-transit.one": _("{items} goes without a seal. Seal it first."),
    "foresight.unsealed-transit.other": _("{items} go without a seal. Seal them first."),
    "foresight.seal-over-seal": _("{items}: there is a seal on record at this point. Record first that it came off."),
    "foresight.seal-reused": _("{items}: this number is in place elsewhere. A seal is used once."),
    "foresight.seal-unknown": _("{items}: this number is of no seal that was given to this place."),
    "foresight.contents-differ.one": _("On record, {items} lies in something else. Was it unpacked?"),
    "foresight.contents-differ.other": _("On record, {items} lie in something else. Were they unpacked?"),
    "foresight.opened-while-sealed": _("{items}: still sealed on record. Record first that the seal came off."),
    "foresight.second-device": _("{items}: two memory devices in one scanner. Take the other one out first."),
    "foresight.memory-left-in": _("{items}: a memory device is still in it."),
    "foresight.step-out-of-order": _("The polls are not on record as closed. This step comes after."),
    "foresight.amended-by-others-others": _(
        "Nobody here has signed the entry that is put right. One of those who did should."
    ),
    "foresight.amended-by-others-ends": _("Things and times of a handoff are put right by somebody of each end."),
    "foresight.amended-by-others-few.one": _("What is changed takes {count} person."),
    "foresight.amended-by-others-few.other": _(
        "What is changed was read by several: it takes {count} people to put it right."
    ),
}
