"""Rules about holders, ways back, times, losses and disposal."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from custody.messages.rules.wording import OWN, PRACTICE, RuleWords

TITLE = _("Holders, ways back and disposal")
RULES = {
    "custody-gap": RuleWords(
        title=_("Handled by people who did not hold it"),
        checks=_(
            "Those who hand over, pack, unpack, seal, unseal or dispose of a thing share nobody with those who hold it on"
            " record. Of what nobody held yet there is no finding, nor of a technician who has the thing in service."
        ),
        why=_("Between the holder and these people a handoff is missing: nobody can say who had the thing in between."),
        source=PRACTICE,
        severities=("critical",),
    ),
    "broken-pair": RuleWords(
        title=_("One of the pair left on the way"),
        checks=_(
            "A controlled thing is handed over by some of those who held it, and not by all. A relief on record is how"
            " somebody leaves, and no finding. What a desk holds is held by whoever is assigned there, and passed over."
        ),
        why=_("For some of the way one person had it alone, or with somebody whom nobody wrote down."),
        source=_("Colorado Election Rules, Rule 20, for the pair; else common practice, no published source."),
        severities=("warning",),
        policy=("items.*.controlled",),
    ),
    "wrong-purpose": RuleWords(
        title=_("Purpose and roles do not go together"),
        checks=_(
            "The roles at the two ends are none that policy's routes join for the purpose that the handoff names."
        ),
        why=_("Most often a wrong tick; at times a thing that takes a way on which nobody expects it."),
        source=PRACTICE,
        severities=("notice",),
        policy=("routes.*",),
    ),
    "late-entry": RuleWords(
        title=_("Reached the record late"),
        checks=_(
            "An entry reached the record longer after the time that it gives than policy allows, and is no transcription of a"
            " paper form."
        ),
        why=_("What is written down days later is remembered, not recorded."),
        source=OWN,
        severities=("notice",),
        policy=("late_entry.hours",),
    ),
    "clock-ahead": RuleWords(
        title=_("A time that lay ahead"),
        checks=_("An entry gives a time, as amended, that lies further after its receipt than policy allows."),
        why=_("A device whose clock is fast puts things in the wrong order."),
        source=OWN,
        severities=("warning",),
        policy=("clock.minutes_ahead",),
    ),
    "lost": RuleWords(
        title=_("Reported lost"),
        checks=_("A thing was reported lost, and it was neither found nor handed over since. It stands until it is."),
        why=_("A loss that somebody told of is looked for until it is settled, and not left to be forgotten."),
        source=PRACTICE,
        severities=("critical",),
    ),
    "slow-transit": RuleWords(
        title=_("Long on the way back"),
        checks=_(
            "Things are on the way back from a polling place longer than policy allows. What arrives at the very limit is in"
            " time; the finding stays when they arrive later."
        ),
        why=_("Somebody should ring the couriers while it can still be a puncture."),
        source=OWN,
        severities=("warning",),
        policy=("transit.minutes_at_most",),
    ),
    "short-delivery": RuleWords(
        title=_("Only a part was delivered"),
        checks=_(
            "Couriers delivered some things of a journey and still hold others: 15 minutes after the delivery for a controlled"
            " thing, 60 minutes for another that must be back. It is cleared when the last of them has left their hands."
        ),
        why=_("What stays in the car is found at the desk, not a week later."),
        source=_(
            "UK Electoral Commission's practice for receiving: counting out against counting in, with the holder's name. The"
            " limits: common practice, no published source."
        ),
        severities=("critical",),
        policy=("items.*.controlled", "items.*.returned"),
    ),
    "key-with-lock": RuleWords(
        title=_("Keys beside what they open"),
        checks=_("Couriers hold a key set on the way back, and with it a sealed thing that it opens."),
        why=_("Whoever has key and lock together needs nobody else to open it."),
        source=PRACTICE,
        severities=("warning",),
    ),
    "disposed-early": RuleWords(
        title=_("Disposed of too early"),
        checks=_(
            "Controlled things or envelopes are disposed of before the day until which they must be kept, or under a legal"
            " hold; what lies in them counts too. The day is counted from the latest election that a thing was named in, by"
            " the calendar of that election's time zone; the day itself is allowed."
        ),
        why=_(
            "What is destroyed cannot be recounted, and may be evidence. Local law may ask for longer than the default."
        ),
        source=_("52 U.S.C. 20701: 22 months. Holds: common practice, no published source."),
        severities=("critical",),
        policy=("retention.months", "items.*.controlled"),
    ),
    "disposed-unchecked": RuleWords(
        title=_("Disposed of without being shown empty"),
        checks=_(
            "A ballot container is disposed of and was not shown empty by anybody since it was last sealed, unsealed, packed"
            " or counted."
        ),
        why=_("Ballots have been found in containers that were thought to be empty."),
        source=PRACTICE,
        severities=("warning",),
    ),
    "after-disposal": RuleWords(
        title=_("Handled after it was destroyed"),
        checks=_(
            "An entry hands over, packs, unpacks, seals or unseals a thing that is on record as destroyed, or in which such a"
            " thing lies."
        ),
        why=_("Either it was not destroyed, or this is another thing with a label that was misread."),
        source=PRACTICE,
        severities=("critical",),
    ),
}
