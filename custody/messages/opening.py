"""The words of the findings about the steps of opening and closing."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

_LATE_ENTRY = _("If it was done and not written down, record it now with its own time. If not, tell the office.")
_DEVICE = _("Check the times. If a device was replaced, record the packing of the new one with its own time.")
_SIGN_TAPE = _("Ask those who were there to sign this entry: a signature can still be added.")

MESSAGES = {
    "step-missing.before": (_("Not on record at {place} when the polls opened: “{step}”."), _LATE_ENTRY),
    "step-missing.bin": (
        _("The auxiliary bin of {place} was opened, and not cleared again before the polls closed."),
        _("Look into the auxiliary bin, two people together. Record what is in it, and that it was cleared."),
    ),
    "step-missing.polls": (_("Not on record at {place} an hour after the scheduled time: “{step}”."), _LATE_ENTRY),
    "step-missing.after": (_("Not yet on record at {place} since the polls closed: “{step}”."), _LATE_ENTRY),
    "step-missing.count": (
        _(
            "Not on record at {place} before its ballots left: the closing count of ballots cast and of containers sealed."
        ),
        _("If it was counted and not written down, record it now with its own time. If not, count on arrival."),
    ),
    "step-out-of-order.memory_removed": (
        _("A memory device was taken out at {place} before the polls closed, and none was put back."),
        _DEVICE,
    ),
    "step-out-of-order.memory_removed.scanner": (
        _("The memory device of {items} was taken out at {place} before the polls closed, and none was put back."),
        _DEVICE,
    ),
    "step-out-of-order.results_tape_signed": (
        _("The results tape of {place} was signed before the polls closed."),
        _("Check the times, and amend the entry whose time is wrong."),
    ),
    "tape-signers.zero_tape_signed": (
        _("{signed} people signed for the zero tape; {asked} are asked for."),
        _SIGN_TAPE,
    ),
    "tape-signers.results_tape_signed": (
        _("{signed} people signed for the results tape; {asked} are asked for."),
        _SIGN_TAPE,
    ),
}
