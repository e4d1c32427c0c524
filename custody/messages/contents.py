"""The words of the findings about what lies in what."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

_LOOK = _("Look where these things are now, and record what was packed or unpacked without being written down.")

MESSAGES = {
    "contents-differ.unpacked": (
        _("{things} came out of a container in which the record does not have it. Containers named: {containers}."),
        _LOOK,
    ),
    "contents-differ.left": (
        _("The record still has {things} in {containers}, which was shown empty or disposed of."),
        _LOOK,
    ),
    "contents-differ.apart": (
        _("{things} went on without the container that the record has it in: {containers}."),
        _LOOK,
    ),
    "opened-while-sealed.pack": (
        _("Something was packed into {container} while {closed} was sealed on record ({seals})."),
        _("Find out who took the seals off, when and why, and have them record it."),
    ),
    "opened-while-sealed.unpack": (
        _("Something was taken out of {container} while {closed} was sealed on record ({seals})."),
        _("Find out who took the seals off, when and why, and have them record it."),
    ),
    "second-device": (
        _("Scanner {scanner} holds more than one memory device on record: {devices}."),
        _("Check which device is in the scanner, and record the one that came out."),
    ),
}
