"""The words of the findings about seals."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

_COMPARE = _(
    "Read the seal once more, out loud and by a second person. If it was misread, the next reading puts it right."
)
_KEEP = _("Keep the seal and its parts, put a new seal on and record it, and tell the office.")
_NUMBERS = _(
    "Compare the number with the seal itself and with the seal log; amend the entry if it was written down wrong."
)

MESSAGES = {
    "seal-mismatch": (
        _("At {point} of {item} the seal was read as {numbers}; the record has {expected} there."),
        _COMPARE,
    ),
    "seal-mismatch.none": (
        _("At {point} of {item} a seal {numbers} was read; the record has no seal there."),
        _("Find out who put it on and when, and have them record it."),
    ),
    "seal-mismatch.maker": (
        _("At {point} of {item} the seal {numbers} is of another maker than the one that was put on."),
        _COMPARE,
    ),
    "seal-mismatch.differ": (
        _("The readings of the seal at {point} of {item} differ within one entry: {numbers}."),
        _COMPARE,
    ),
    "seal-not-intact.damaged": (_("Seal {number} at {point} of {item} was found damaged."), _KEEP),
    "seal-not-intact.not_holding": (
        _("Seal {number} at {point} of {item} is whole, but it was found not to hold."),
        _("Check how it was put on, put a new seal on and record it, and tell the office."),
    ),
    "seal-not-intact.missing": (
        _("Seal {number} at {point} of {item} was not found."),
        _("Look for it at the other points of the item, then put a new seal on, record it and tell the office."),
    ),
    "seal-not-intact.unreadable": (
        _("The number of the seal at {point} of {item} could not be read; the record has {number} there."),
        _("Take a photo, keep the seal when it comes off, and put on a new one."),
    ),
    "seal-reused": (_("Seal {number} was put on more than once (on {items}). A seal is used once."), _NUMBERS),
    "seal-void-used": (_("Seal {number} was put on {items}, but it had been reported void."), _NUMBERS),
    "seal-unknown": (_("Seal {number} was put on {items}; it is in no seal lot on record."), _NUMBERS),
    "seal-elsewhere": (
        _("Seal {number} was put on {items} at {site}; it was issued to {issued}."),
        _("Find out how the seal came there, and record the handoff if one was not written down."),
    ),
    "seal-over-seal": (
        _("A new seal was put on at {point} of {item}, where seal {seals} was still in place on record."),
        _("Find out who took the old seal off, when and why, and have them record it."),
    ),
    "seal-unread": (
        _("The handoff does not say what the seals showed at {points}."),
        _("Read these seals now, with the people of both ends if they are still there."),
    ),
    "unsealed-transit": (
        _("These went out without being sealed on record, or with something inside that should be: {items}."),
        _("Look whether the seals are on. If they are, record them; if not, seal now and say what happened before."),
    ),
    "seal-unaccounted": (
        _("Loose seals of {site} are not yet accounted for: {numbers}."),
        _("Ask the place for them: bring back what is left, record what was used, report what was spoiled as void."),
    ),
}
