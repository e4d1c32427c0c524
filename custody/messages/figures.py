"""The words of the findings about figures, and about devices left where they should not be."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

_COUNT_AGAIN = _(
    "Read both again, two people together. If a figure was misread, amend its count; if not, tell the office."
)

MESSAGES = {
    "memory-left-in": (
        _("Sealed or handed over after the polls closed with a memory device still in it: {items}."),
        _("Open the scanner, two people together, take the device out, and record each step."),
    ),
    "set-short": (
        _(
            "By its closing count {place} sealed {said} ballot containers; on record with a seal of the day: {found} ({items})."
        ),
        _("Count the containers, and look for any that is not yet accounted for. If the count is wrong, amend it."),
    ),
    "set-short.none": (
        _("By its closing count {place} sealed {said} ballot containers; none is on record with a seal of the day."),
        _("Record the seals that were put on, with their own times. If the count is wrong, amend it."),
    ),
    "count-differs.account": (
        _("The ballot account of {place} does not add up: {received} ballots received, {accounted} accounted for."),
        _COUNT_AGAIN,
    ),
    "count-differs.scanners": (
        _("At {place} the scanners counted {scanned} ballots, and {expected} were to be scanned: {items}."),
        _(
            "Look into the bins and the auxiliary bin, and read the counters again. If a figure was misread, amend its count."
        ),
    ),
    "count-differs.protective": (
        _("The lifetime counter of {items} went up by {protective}, its counter for this election by {public}."),
        _COUNT_AGAIN,
    ),
    "count-differs.containers": (
        _("At {place} {counted} ballots were counted into the containers, and {cast} were cast: {items}."),
        _("Look into the bins, and count the containers again. If a figure was misread, amend its count."),
    ),
    "count-differs.recount": (
        _("{now} ballots were counted in {items}, and {before} the last time."),
        _("Count once more, two people together, and look at the seals on record between the two counts."),
    ),
    "checkins-differ": (
        _("At {place} {checked_in} voters were checked in, and the public counter reads {public}."),
        _("Read both again. Ask about voters who left without voting, and look into the auxiliary bin."),
    ),
    "counter-not-zero": (
        _("Before the polls opened at {place} the public counter reads {public}, not 0."),
        _("Do not open the polls with this scanner. Ring the office."),
    ),
    "counter-not-zero.scanner": (
        _("Before the polls opened at {place} the public counter of {items} reads {public}, not 0."),
        _("Do not open the polls with this scanner. Ring the office."),
    ),
}
