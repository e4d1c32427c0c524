"""The words of the findings about holders, ways back, times, losses and disposal."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

_WHO_HELD = _(
    "Ask both sides who had these things in between. If a handoff was made and not written down, record it now with its"
    " own time."
)
_COUNT_IN = _("Call the couriers and the receiving station, and record the handoff when the things have come in.")
_KEEP = _("Do not dispose of anything more of this kind, and ask the election authority what applies.")

MESSAGES = {
    "custody-gap": (
        _("On record with {holders}, but handled by {doers}: {items}."),
        _WHO_HELD,
    ),
    "custody-gap.handoff": (
        _("On record with {holders}, but handed over by {doers}: {items}."),
        _WHO_HELD,
    ),
    "broken-pair": (
        _("{people} held this too and took no part in handing it over: {items}."),
        _("Ask when and where they parted. If somebody was relieved, record that handoff with its own time."),
    ),
    "wrong-purpose": (
        _("The purpose “{purpose}” is not one for a handoff from {giver} to {taker}."),
        _("Check purpose and roles, and amend the entry if one of them was picked by mistake."),
    ),
    "slow-transit": (
        _("On the way from {place} for more than {minutes} minutes, with {people}: {items}."),
        _COUNT_IN,
    ),
    "short-delivery": (
        _("Part of what left {place} has been delivered. Not yet accounted for, and on record with {people}: {items}."),
        _COUNT_IN,
    ),
    "key-with-lock": (
        _("Key set {keys} is on its way with {people}, together with what it opens: {locks}."),
        _("Hand the keys to somebody else who brings them separately, or have the seals read at once on arrival."),
    ),
    "late-entry": (
        _("This entry reached the record more than {hours} hours after the time it gives."),
        _("Check the time. If the phone was without a network for so long, say so in a note."),
    ),
    "clock-ahead": (
        _("This entry gives a time more than {minutes} minutes after it reached the record."),
        _("Set the device's clock, and amend the time of the entry."),
    ),
    "lost": (
        _("Reported lost and not yet found: {items}."),
        _("Call whoever had it last. When it turns up, record it as found, or hand it over."),
    ),
    "disposed-early": (
        _("Disposed of before {until}, the day until which it must be kept: {early}."),
        _KEEP,
    ),
    "disposed-early.hold": (
        _("Disposed of while a legal hold was in place: {held}."),
        _KEEP,
    ),
    "disposed-early.both": (
        _("Disposed of before {until}, the day until which it must be kept: {early}. Under a legal hold: {held}."),
        _KEEP,
    ),
    "disposed-unchecked": (
        _("Disposed of, and not shown empty by two people since it was last in use: {items}."),
        _("Stop, look into every container that is still there, and record that it was shown empty."),
    ),
    "after-disposal": (
        _("On record as destroyed, but handled again: {items}."),
        _("Look at the label of the thing itself. Amend the entry that names the wrong one."),
    ),
}
