"""The words of the findings about what has not come back, was not read in, or lies unopened."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

MESSAGES = {
    "unreturned": (
        _("Not yet back from {place}: {items}."),
        _("Ring whoever has it on record, and have the place looked through once more: bags, cabinets, the scanner."),
    ),
    "not-read-in": (
        _("The memory device {items} was at work at {place}, and its results are not on record as read in."),
        _("Find the device and have it read in, or record that it was, with its own time."),
    ),
    "unopened": (
        _("Received at {where} under a seal of the day, and neither opened nor handed on: {items}."),
        _("Find out whether it waits to be opened. If it was opened, record that with its own time."),
    ),
}
